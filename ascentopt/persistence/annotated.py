"""What a dataclass says of its fields, held against what they hold."""

from __future__ import annotations

import sys
from collections.abc import Mapping
from dataclasses import fields, is_dataclass
from functools import cache
from types import SimpleNamespace
from typing import Any, get_type_hints

from ascentopt.arguments import told
from ascentopt.arguments.annotations import kind_of
from ascentopt.arguments.kinds import Anything, Kind, Misfit
from ascentopt.errors import InputError


def check_fields(kind: type, own: Mapping[str, object], fix: str) -> None:
    """Refuse values that are not what the annotations of a dataclass say.

    A number may be nan; of an array nothing is asked. Raises `InputError`.
    """
    for name, fitting in _kinds(kind):
        if name in own:
            try:
                fitting.keep(own[name])
            except Misfit as misfit:
                raise InputError(
                    f"{kind.__name__}: {name}{misfit.place} is {told(misfit.value)}; it must "
                    f"be {misfit.rule}. {fix}"
                ) from None


@cache
def _kinds(kind: type) -> tuple[tuple[str, Kind], ...]:
    """What fits each field; nothing is asked of a user's class that is no dataclass."""
    if not is_dataclass(kind):
        return ()
    return tuple((field.name, _fitting(kind, field.name, field.type)) for field in fields(kind))


def _fitting(kind: type, name: str, annotation: Any) -> Kind:
    """What fits a field; anything where only a type checker knows what it is."""
    home = next(one for one in kind.__mro__ if name in vars(one).get("__annotations__", ()))
    shown, scope = SimpleNamespace(__annotations__={name: annotation}), sys.modules[home.__module__]
    try:
        found = get_type_hints(shown, globalns=vars(scope), include_extras=True)[name]
    except NameError:
        return Anything()
    return kind_of(found, finite=False)
