"""Warnings of values that are possible and mostly a slip, as where a description is made."""

from __future__ import annotations

import re
import warnings
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass
from typing import Any

from ascentopt import mission, rocket
from ascentopt.arguments.unusual import levels_to_user
from ascentopt.errors import InputError, UnusualInputWarning
from ascentopt.optimal.perturbations import Case

_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_HOMES = (rocket.__name__, mission.__name__)


def warn_of_slips(given: Case, cases: Iterable[Case | InputError]) -> None:
    """Warn of what is unusual of some cases, and was not of the one that was given; of each once.

    What the library changes itself is not warned of; here a user wrote the values.
    """
    known = set(map(_without_numbers, _unusual(given)))
    for case in cases:
        if isinstance(case, InputError):
            continue
        for text in _unusual(case):
            if _without_numbers(text) not in known:
                known.add(_without_numbers(text))
                warnings.warn(text, UnusualInputWarning, stacklevel=levels_to_user())


def _unusual(case: Case) -> Iterator[str]:
    with warnings.catch_warnings(record=True) as told:
        warnings.simplefilter("always", UnusualInputWarning)
        _made_anew(case.vehicle)
        _made_anew(case.mission)
    yield from (str(one.message) for one in told if one.category is UnusualInputWarning)


def _made_anew(part: Any) -> Any:
    """The same, checked again: an object that `replace` made is not warned of."""
    if isinstance(part, tuple):
        return tuple(map(_made_anew, part))
    if not is_dataclass(part) or isinstance(part, type) or not _is_described(part):
        return part
    own = {one.name: _made_anew(getattr(part, one.name)) for one in fields(part) if one.init}
    return type(part)(**own)


def _is_described(part: object) -> bool:
    return type(part).__module__.startswith(_HOMES)


def _without_numbers(text: str) -> str:
    return _NUMBER.sub("#", text)
