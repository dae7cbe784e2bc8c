"""What a user wrote, called: a failure in it names it and keeps its cause."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ascentopt.errors import InputError
from ascentopt.telling import told


def asked(owner: str, what: str, function: Callable[..., Any], *given: Any) -> Any:
    """What a user's function answers.

    Refusals of ours go through as they are, and so do interrupts.

    Args:
        owner: whose function it is, and when it was asked, in words.
        what: the argument that it was given as.
        function: the user's.
        given: what it is asked with.

    Raises:
        InputError: whatever it raises, as the cause.
    """
    try:
        return function(*given)
    except Exception as fault:
        if type(fault).__module__.partition(".")[0] == "ascentopt":
            raise
        raise InputError(
            f"{owner}: {what} is {told(function)}, which raised {type(fault).__name__}: {fault}; "
            "it must return for all that it is asked with. Mend it: the lines are in the cause "
            "above."
        ) from fault
