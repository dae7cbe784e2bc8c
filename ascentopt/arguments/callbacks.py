"""What a user wrote, called: a failure in it names it and keeps its cause."""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.telling import told


def asked(
    owner: str | Callable[[], str], what: str, function: Callable[..., Any], *given: Any
) -> Any:
    """What a user's function answers.

    Refusals of ours go through as they are, and so do interrupts.

    Args:
        owner: whose function it is, and when it was asked, in words; or what makes these words.
        what: the argument that it was given as, or the method that it is.
        function: the user's.
        given: what it is asked with.

    Raises:
        InputError: whatever it raises, as the cause.
    """
    try:
        return function(*given)
    except Exception as fault:
        if any(_in_package(kind) for kind in type(fault).__mro__):
            raise
        who = owner if isinstance(owner, str) else owner()
        raise InputError(
            f"{who}: {what} is {told(function)}, which raised {type(fault).__name__}: {fault}; it "
            "must return for all that it is asked with. Mend it: the error above is the cause."
        ) from fault


def is_ours(thing: Any) -> bool:
    """Whether its class is the library's own, and not a user's below it."""
    return _in_package(type(thing))  # type: ignore[arg-type]


@lru_cache(maxsize=256)
def _in_package(kind: type) -> bool:
    return kind.__module__.partition(".")[0] == __name__.partition(".")[0]


def unit_vector(answer: Any) -> tuple[float, float, float] | None:
    """The direction that an answer is, of length one; None where it is none."""
    try:
        found = np.asarray(None if np.iscomplexobj(answer) else answer, dtype=np.float64)
    except (TypeError, ValueError, OverflowError):
        return None
    length = float(np.linalg.norm(found)) if found.shape == (3,) else 0.0
    if not np.isfinite(length) or length == 0.0:
        return None
    x, y, z = (found / length).tolist()
    return x, y, z
