"""Columns of numbers: lists in the file itself, or a CSV file beside it."""

from __future__ import annotations

import csv
import re
from collections.abc import Mapping
from collections.abc import Set as AbstractSet
from dataclasses import replace

from ascentopt.descriptions.quantities.quantity import si_number, unit_given
from ascentopt.descriptions.quantities.unit import Unit
from ascentopt.descriptions.text_files.place import Place, shortened
from ascentopt.descriptions.text_files.text_file import text_of_file
from ascentopt.errors import InputError

VALUES, UNIT = "values", "unit"

_NO_UNIT = "-"
"""In brackets: how the library's own CSV files say that a number has no unit."""

_HEAD = re.compile(r"\s*(\w+)\s*(?:[\[(](.*)[\])])?\s*\Z")


def column_from(place: Place, raw: object, si: str) -> tuple[float, ...]:
    """Numbers in SI base units.

    Each is a number or a text with its unit; or one table gives their values and one unit for all.
    Raises `InputError`.
    """
    if isinstance(raw, dict):
        return _with_one_unit(place, raw, si)
    if not isinstance(raw, list):
        fix = "Give a list, or a table with values and unit."
        raise place.refusal(raw, "a list of numbers", fix)
    return tuple(si_number(place.item(index), one, si) for index, one in enumerate(raw))


def _with_one_unit(place: Place, raw: dict[str, object], si: str) -> tuple[float, ...]:
    given, text = raw.get(VALUES), raw.get(UNIT)
    if set(raw) != {VALUES, UNIT} or not isinstance(given, list) or not isinstance(text, str):
        rule = "a list of numbers, or a table of values and unit"
        raise place.refusal(raw, rule, "Write { values = [1, 2], unit = '...' }.")
    unit = unit_given(place.child(UNIT), text, si, whole=text)
    bare = (si_number(place.child(VALUES).item(index), one, "") for index, one in enumerate(given))
    return tuple(unit.to_si(one) for one in bare)


def columns_from_csv(
    place: Place, raw: object, units: Mapping[str, str], required: AbstractSet[str]
) -> dict[str, tuple[float, ...]]:
    """Columns of a CSV file, in SI base units.

    The first row names them, with units in brackets where they are not those of the SI:
    `time [s], vacuum_thrust [kN]`. Empty rows, and those that begin with #, are left out.

    Args:
        place: of the key that names the file, which lies beside the one that names it.
        raw: its path.
        units: of the SI, by the columns that may be there, and no others.
        required: those of them that must be.

    Raises:
        InputError: for anything else.
    """
    raw, rows = _rows(place, raw)
    names = _names(place, raw, rows[0][1], units, required)
    table = [
        [
            _cell(replace(place, key=f"{place.key}: line {line} of {raw!r}: {name}"), text, unit)
            for (name, unit), text in zip(names, cells, strict=True)
        ]
        for line, cells in rows[1:]
    ]
    return {name: tuple(row[at] for row in table) for at, (name, _) in enumerate(names)}


def heads_of_csv(place: Place, raw: object) -> frozenset[str]:
    """The names of the columns of a CSV file. Raises `InputError` where there is none."""
    _, rows = _rows(place, raw)
    return frozenset(match[1] for head in rows[0][1] if (match := _HEAD.match(head)))


def _rows(place: Place, raw: object) -> tuple[str, list[tuple[int, list[str]]]]:
    """The name of the file; line and cells of each row, all of one length."""
    if not isinstance(raw, str) or not raw.strip():
        raise place.refusal(raw, "the name of a CSV file beside this one", "Give it in quotes.")
    try:
        lines = csv.reader(text_of_file(place.file.parent / raw).splitlines())
        rows = [
            (number, cells)
            for number, cells in enumerate(lines, 1)
            if any(cell.strip() for cell in cells) and not cells[0].lstrip().startswith("#")
        ]
    except InputError as refusal:
        raise InputError(f"{place}: {refusal}") from None
    except csv.Error as fault:
        raise place.refusal(raw, f"a CSV file ({fault})", "Save it as text with commas.") from None
    if not rows:
        raise place.refusal(raw, "a CSV file with a row of names", "It is empty: fill it.")
    wide = len(rows[0][1])
    for number, cells in rows:
        if len(cells) != wide:
            raise place.says(
                f"names {raw!r}, whose line {number} has {len(cells)} values; it must have {wide}, "
                "as its first row. Complete the line."
            )
    return raw, rows


def _names(
    place: Place, raw: str, heads: list[str], units: Mapping[str, str], required: AbstractSet[str]
) -> list[tuple[str, Unit]]:
    """Name and unit of each column."""
    matches = [_HEAD.match(head) for head in heads]
    pairs = zip(heads, matches, strict=True)
    names = [head if match is None else match[1] for head, match in pairs]
    must = [name for name in units if name in required]
    if len(set(names)) < len(names) or not set(must) <= set(names) <= set(units):
        may = [name for name in units if name not in required]
        free = f", and may be {', '.join(may)}" if may else ""
        raise place.says(
            f"names {raw!r}, which has the columns {shortened(names)}; they must be "
            f"{', '.join(must)}{free}, with units in brackets. Correct its first row."
        )
    texts = [(match[2] if match is not None else None) for match in matches]
    return [
        (name, _unit(place, raw, name, text, units[name]))
        for name, text in zip(names, texts, strict=True)
    ]


def _unit(place: Place, raw: str, name: str, text: str | None, si: str) -> Unit:
    at = replace(place, key=f"{place.key}: the first row of {raw!r}: {name}")
    given = "" if text is None or text.strip() == _NO_UNIT else text.strip()
    return unit_given(at, si if text is None else given, si, whole=text)


def _cell(place: Place, text: str, unit: Unit) -> float:
    return unit.to_si(si_number(place, text, ""))
