"""From objects to the tables of a file; read again they give the same objects to the last bit."""

from __future__ import annotations

from dataclasses import fields, replace
from functools import lru_cache
from math import copysign
from typing import Any

from ascentopt.descriptions.air import arguments_of_air
from ascentopt.descriptions.columns import UNIT, VALUES
from ascentopt.descriptions.quantities.quantity import digits_in_common, in_units
from ascentopt.descriptions.reading import NONE
from ascentopt.descriptions.schema.choice import BASE
from ascentopt.descriptions.schema.forms import NAMED, Field, Form, described, form_of
from ascentopt.errors import InputError
from ascentopt.scenarios import Scenario
from ascentopt.world import Atmosphere, Body

_UP_TO_ITS_AIR = ("atmosphere",)
_UP_TO_ITS_WIND = ("ceiling", "wind")
"""What may differ from a body, or air, that is known by name, and is then written beside it."""


def table_of(thing: Any) -> dict[str, Any]:
    """The keys and values that describe an object; what is as by default is left out.

    Raises:
        InputError: for an object of a class of the user's own, which no file can describe.
    """
    found = _entry(thing)
    return found if isinstance(found, dict) else {BASE: found}


def _entry(thing: Any, holder: Any = None) -> str | dict[str, Any]:
    """Its name, where it has one, or a table; what holds it may say how it was made."""
    kind: type = type(thing)
    if kind not in _kinds():
        raise InputError(
            f"write: {kind.__name__} is a class of your own; a file can describe only what "
            "the library describes. Give an object of the class that it derives from."
        )
    if isinstance(thing, Body):
        return _by_name(thing, _UP_TO_ITS_AIR) or _with_keys(thing, form_of(Body))
    if isinstance(thing, Atmosphere):
        return _by_name(thing, _UP_TO_ITS_WIND) or _air(thing, holder)
    return _with_keys(thing, form_of(kind))


@lru_cache(maxsize=1)
def _kinds() -> frozenset[object]:
    """All classes of which a file can describe objects."""
    return frozenset(form.make for form in described(Scenario))


def _by_name(thing: Any, free: tuple[str, ...]) -> str | dict[str, Any] | None:
    """The name of what is known, with what differs from it; None where more than that does."""
    for name, make in NAMED[type(thing)].items():
        known = make()
        own = {key: getattr(thing, key) for key in free if _differ(thing, known, key)}
        if thing == replace(known, **own):
            kind: type = type(thing)
            full = form_of(kind).fields
            beside = {key: _written(one, full[key], thing) for key, one in own.items()}
            return {BASE: name, **beside} if beside else name
    return None


def _air(air: Atmosphere, holder: Any) -> dict[str, Any]:
    """By a constructor of atmospheres that gives the same, or in full."""
    found = arguments_of_air(air, holder if isinstance(holder, Body) else None)
    if found is None:
        return _with_keys(air, form_of(Atmosphere))
    form, values = found
    return _table(values, form, air)


def _with_keys(thing: Any, form: Form) -> dict[str, Any]:
    return _table({one.name: getattr(thing, one.name) for one in fields(thing)}, form, thing)


def _table(values: dict[str, Any], form: Form, holder: Any) -> dict[str, Any]:
    return {
        name: _written(value, form.fields[name], holder)
        for name, value in values.items()
        if not _same(value, form.fields[name].default)
    }


def _written(value: Any, field: Field, holder: Any) -> Any:
    kind = field.kind
    if value is None:
        return NONE
    if kind.items is not None:
        return [_entry(one) for one in value]
    if kind.column and isinstance(value, tuple):
        return _column(value, field.si or "")
    if kind.objects and isinstance(value, kind.objects):
        return _entry(value, holder)
    return _number(value, field.si or "") if float in kind.plain else value


def _column(values: tuple[float, ...], si: str) -> Any:
    digits, unit = digits_in_common(values, si)
    numbers = [_short(float(one)) for one in digits]
    return {VALUES: numbers, UNIT: unit} if unit and values else numbers


def _number(value: float, si: str) -> float | str:
    return in_units(float(value), si) if si else float(value)


def _short(value: float) -> float | int:
    """Without a point where there is nothing behind it."""
    whole = value.is_integer() and abs(value) < 1e15 and copysign(1.0, value) > 0.0
    return int(value) if whole else value


def _same(value: Any, default: Any) -> bool:
    """Whether it may be left out; a zero with a sign is another number."""
    if isinstance(value, float) and isinstance(default, int | float):
        return value == default and copysign(1.0, value) == copysign(1.0, default)
    return type(value) is type(default) and bool(value == default)


def _differ(thing: Any, known: Any, key: str) -> bool:
    return not _same(getattr(thing, key), getattr(known, key))
