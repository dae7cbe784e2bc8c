"""Which form a table has, by its keys; a key that none has is refused with the nearest one."""

from __future__ import annotations

from collections.abc import Callable, Iterable
from collections.abc import Set as AbstractSet
from typing import Any

from ascentopt.descriptions.schema.forms import NAMED, Form, forms_of
from ascentopt.descriptions.text_files.place import Place, shortened
from ascentopt.telling import meant

Table = dict[str, Any]
"""A table of a file."""

BASE = "base"
"""The key of a table that changes what is known by name."""

CSV = "csv"
"""The key of a file of its own that holds the columns of a table."""


def chosen_form(
    place: Place,
    raw: Table,
    kinds: tuple[type, ...],
    heads_of_csv: Callable[[Place, object], AbstractSet[str]],
) -> Form:
    """The one form of these dataclasses that has all the keys, and whose own keys are all there.

    Args:
        place: of the table.
        raw: the table.
        kinds: the dataclasses.
        heads_of_csv: reads the columns that a file of the table's own has.

    Raises:
        InputError: where there is none.
    """
    forms = [form for kind in kinds for form in forms_of(kind)]
    check_keys(place, raw, forms, [BASE] if kinds[0] in NAMED else [])
    fitting = [form for form in forms if set(raw) <= set(keys_of(form))]
    if not fitting:
        raise place.says(
            f"has the keys {', '.join(raw)}, which do not go together; they must be those of one "
            f"of {'; '.join(map(_described, forms))}. Remove those of the others."
        )
    heads = heads_of_csv(place.child(CSV), raw[CSV]) if CSV in raw else frozenset()
    whole = [form for form in fitting if form.required <= _given(raw, form, heads)]
    # Columns of no form: they are refused when they are read, by the form that the keys ask for.
    whole = whole or [
        form for form in fitting if form.required <= _given(raw, form, {*form.columns})
    ]
    if not whole:
        raise _incomplete(place, raw, fitting)
    return max(whole, key=lambda form: len(form.required))


def keys_of(form: Form) -> list[str]:
    """All keys that may stand in a table of that form."""
    return [*form.fields, *([CSV] if form.columns else [])]


def check_keys(place: Place, raw: Table, forms: Iterable[Form], beside: Iterable[str] = ()) -> None:
    """Refuse a key that no form has, and that is none of those beside."""
    known = list(dict.fromkeys([*beside, *(name for form in forms for name in keys_of(form))]))
    for name, value in raw.items():
        if name in known:
            continue
        raise place.child(name).says(
            f"= {shortened(value)} is given, but is no key here; it must be one of "
            f"{', '.join(known)}. {meant(name.lower(), known, 'Correct or remove it.')}"
        )


def _given(raw: Table, form: Form, heads: AbstractSet[str]) -> set[str]:
    return {*raw, *heads} if CSV in raw and heads <= {*form.columns} else {*raw}


def _incomplete(place: Place, raw: Table, fitting: list[Form]) -> Exception:
    lacking = [
        [name for name in form.fields if name in form.required - _given(raw, form, {*form.columns})]
        for form in fitting
    ]
    form, names = min(zip(fitting, lacking, strict=True), key=lambda pair: len(pair[1]))
    ways = " or ".join(map(_described, fitting))
    return place.child(names[0]).says(
        f"is missing; it must be given, since here stands {ways}. Add it"
        + (f", or csv for {' and '.join(form.columns)}." if form.columns else ".")
    )


def _described(form: Form) -> str:
    must = [name for name in form.fields if name in form.required]
    may = [name for name in keys_of(form) if name not in form.required]
    free = f"may have {', '.join(may)}" if may else ""
    needed = f"must have {', '.join(must)}" if must else ""
    return f"{form.name} ({'; '.join(filter(None, (needed, free)))})"
