"""From the tables of a file to the objects that they describe."""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping
from typing import Any

import numpy as np

from ascentopt.descriptions.columns import column_from, columns_from_csv, heads_of_csv
from ascentopt.descriptions.quantities.quantity import si_number
from ascentopt.descriptions.schema.choice import BASE, CSV, Table, check_keys, chosen_form
from ascentopt.descriptions.schema.forms import NAMED, Field, Form, Kind, changing
from ascentopt.descriptions.text_files.place import Place
from ascentopt.descriptions.warnings_told import warnings_told
from ascentopt.errors import InputError
from ascentopt.telling import nearest

NONE = "none"
"""The text for what is not there, or not limited."""

_NAMES_FIELD = re.compile(r"[^:;]*: (\w+)")


def object_from(place: Place, raw: object, kinds: tuple[type, ...]) -> Any:
    """An object of one of these dataclasses, from a table or by its name.

    Raises:
        InputError: with file, key, value, rule and fix.
    """
    named = NAMED.get(kinds[0], {})
    if isinstance(raw, str) and named:
        return _by_name(place, raw, named)
    if not isinstance(raw, dict):
        words = " or ".join(kind.__name__ for kind in kinds)
        known = f", or one of the names {_listed(named)}" if named else ""
        raise place.refusal(raw, f"a table ({words}){known}", "Give its keys and values.")
    if BASE in raw and named:
        return _changed(place, raw, kinds[0])
    form = chosen_form(place, raw, kinds, heads_of_csv)
    return _made(place, form, _values(place, raw, form))


def _by_name(place: Place, raw: object, named: Mapping[str, Callable[[], Any]]) -> Any:
    if isinstance(raw, str) and (make := named.get(raw.strip().lower())):
        return make()
    near = nearest(str(raw).lower(), named, alike=0.5)
    meant = f"Did you mean {near!r}? " if near else ""
    raise place.refusal(
        raw, f"one of the names {_listed(named)}, or a table", f"{meant}Or describe it in full."
    )


def _changed(place: Place, raw: Table, kind: type) -> Any:
    """What is known by name, with other values for the keys that are given."""
    base = _by_name(place.child(BASE), raw[BASE], NAMED[kind])
    form = changing(kind, base)
    given = {name: value for name, value in raw.items() if name != BASE}
    check_keys(place, given, (form,))
    return _made(place, form, _values(place, given, form))


def _values(place: Place, raw: Table, form: Form) -> dict[str, Any]:
    if twice := [name for name in form.columns if CSV in raw and name in raw]:
        raise place.child(twice[0]).says(
            f"is given here and as a column of {raw[CSV]!r}; it must be given once. Remove one."
        )
    values = {
        name: value_from(place.child(name), one, form.fields[name])
        for name, one in raw.items()
        if name != CSV
    }
    if CSV not in raw:
        return values
    units = {name: form.fields[name].si or "" for name in form.columns}
    return values | columns_from_csv(place.child(CSV), raw[CSV], units, form.required)


def value_from(place: Place, raw: object, field: Field) -> Any:
    """What a key of a form is given. Raises `InputError`."""
    kind = field.kind
    if kind.optional and raw == NONE:
        return None
    if kind.items is not None:
        return _items(place, raw, kind.items)
    if kind.objects and (isinstance(raw, dict) or not kind.plain):
        return object_from(place, raw, kind.objects)
    if kind.column:
        return column_from(place, raw, field.si or "")
    if float in kind.plain:
        return si_number(place, raw, field.si or "")
    return _plain(place, raw, kind)


def _items(place: Place, raw: object, kind: type) -> tuple[Any, ...]:
    if not isinstance(raw, list):
        fix = f"Write each as [[{place.key}]], with its keys below."
        raise place.refusal(raw, f"a list of tables ({kind.__name__})", fix)
    return tuple(object_from(place.item(index), one, (kind,)) for index, one in enumerate(raw))


_PLAIN = {
    int: ("a whole number", "Give it without a point, a unit or quotes."),
    bool: ("true or false", "Give one of them, without quotes."),
    str: ("a text", "Give it in quotes."),
}


def _plain(place: Place, raw: object, kind: Kind) -> object:
    for one in kind.plain:
        if type(raw) is one:
            return raw
    rule, fix = _PLAIN[kind.plain[0]]
    raise place.refusal(raw, rule, fix)


def _made(place: Place, form: Form, values: dict[str, Any]) -> Any:
    """The object; what it refuses is told with the key that it names, what it warns of likewise."""
    try:
        with (
            np.errstate(over="raise", divide="raise", invalid="raise"),
            warnings_told(lambda text: f"{place}: {text}"),
        ):
            return form.made(values)
    except InputError as refusal:
        named = _NAMES_FIELD.match(str(refusal))
        at = place.child(named[1]) if named is not None and named[1] in form.fields else place
        raise InputError(f"{at}: {refusal}") from refusal
    except ArithmeticError as fault:
        raise place.says(
            f"holds numbers that cannot be reckoned with ({fault}); sizes must be those of rockets "
            "and planets. Correct their powers of ten."
        ) from fault


def _listed(names: Mapping[str, object]) -> str:
    return ", ".join(map(repr, names))
