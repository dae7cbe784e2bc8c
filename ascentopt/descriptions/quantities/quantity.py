"""Numbers with units, from what stands in a file and back to text."""

from __future__ import annotations

import re
from math import isfinite

from ascentopt.descriptions.quantities.measure import MEASURES
from ascentopt.descriptions.quantities.unit import MINUS, Unit, UnknownUnit, nearest_symbol, unit_of
from ascentopt.descriptions.text_files.place import Place

_NUMBER = re.compile(
    r"\s*([+-]?(?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)(?![\d.,])\s*(.*?)\s*\Z", re.DOTALL
)

_DIGITS = (15, 16, 17)
"""Significant digits to try: 17 tell any two numbers apart, 15 are what people wrote."""


def si_number(place: Place, raw: object, si: str) -> float:
    """The number in SI base units that a file gives, as a number or as a text with its unit.

    Args:
        place: where it stands.
        raw: what the file has there.
        si: the unit of the SI for what is measured, one of `MEASURES`.

    Raises:
        InputError: for anything else.
    """
    if isinstance(raw, str):
        found = _from_text(place, raw, si)
    elif isinstance(raw, int | float) and not isinstance(raw, bool):
        found = _as_float(raw)
    else:
        raise place.refusal(raw, MEASURES[si].words, _fix(si))
    if not isfinite(found):
        raise place.refusal(raw, "a finite number", _fix(si))
    return found


def unit_given(place: Place, text: str, si: str, *, whole: object) -> Unit:
    """The unit of that text, part of a whole value. It must measure what `si` does.

    Raises:
        InputError: where it does not, or is no unit.
    """
    try:
        unit = unit_of(text)
    except UnknownUnit as unknown:
        nearest = nearest_symbol(unknown.symbol, unit_of(si).dimension)
        meant = "" if nearest is None else f"Did you mean {nearest!r}? "
        rule = f"{MEASURES[si].words}, and {unknown.symbol!r} is no unit known here"
        raise place.refusal(whole, rule, meant + _fix(si)) from None
    if unit.dimension != unit_of(si).dimension:
        other = f"{text!r} is {_words(unit)}" if text else "a text needs a unit"
        raise place.refusal(whole, f"{MEASURES[si].words}, and {other}", _fix(si))
    return unit


def in_units(value: float, si: str) -> str:
    """A number as people would write it; `si_number` makes the same bits of it."""
    found = [
        (number, unit)
        for unit in MEASURES[si].written
        if (number := _digits_in(value, unit)) is not None
    ]
    number, unit = min(found, key=lambda one: (not 1.0 <= abs(float(one[0])) < 1e4, len(one[0])))
    return f"{number} {unit}".strip()


def digits_in_common(values: tuple[float, ...], si: str) -> tuple[list[str], str]:
    """All of them in the one unit that makes them shortest, and that unit."""
    found = []
    for unit in MEASURES[si].written:
        texts = [_digits_in(value, unit) for value in values]
        kept = [text for text in texts if text is not None]
        found += [(kept, unit)] if len(kept) == len(texts) else []
    return min(found, key=lambda one: sum(map(len, one[0])))


def _digits_in(value: float, unit: str) -> str | None:
    """The digits of a number in some unit; None where none give the same bits again."""
    to_si = unit_of(unit).to_si
    near = value / to_si(1.0)
    texts = (f"{near:.{digits}g}" for digits in _DIGITS)
    return next((text for text in texts if to_si(float(text)) == value), None)


def _from_text(place: Place, text: str, si: str) -> float:
    match = _NUMBER.match(text.replace(MINUS, "-"))
    if match is None:
        rule = MEASURES[si].words + (": a number and its unit" if si else "")
        raise place.refusal(text, rule, _fix(si))
    number, unit = match.groups()
    # "2.5/rad": what divides follows the number at once.
    unit = f"1{unit}" if unit.startswith("/") else unit
    return unit_given(place, unit, si, whole=text).to_si(float(number))


def _as_float(raw: float) -> float:
    try:
        return float(raw)
    except OverflowError:
        return float("inf")


def _words(unit: Unit) -> str:
    found = (
        measure.words for si, measure in MEASURES.items() if unit_of(si).dimension == unit.dimension
    )
    return next(found, "something else")


def _fix(si: str) -> str:
    example = MEASURES[si].example
    if not si:
        return f"Give one such as {example}."
    return f"Give a number in {si}, or a text such as {example!r}."
