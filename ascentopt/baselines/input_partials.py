"""The partials of an ascent under the names of its inputs, for one SI unit more of each."""

from __future__ import annotations

from collections.abc import Iterator

from ascentopt.baselines.inputs import Input, inputs_of, kept
from ascentopt.errors import InputError
from ascentopt.optimal.perturbations import STEP, Case, Variation, variations
from ascentopt.optimal.result.ascent import Ascent

TOGETHER = " with "
"""Between the names of inputs that have a partial only together, all by the same share: the partial
is for a unit of the first of them."""

DIGITS = 6
"""Significant digits of a partial that are kept; it is right to about five."""

_MOVED = 1e-11
"""Share of itself by which an input that moves does so at the least: a thousandth of a kg of the
largest rockets; the last digit that is kept is below."""


def input_partials(ascent: Ascent) -> dict[str, float]:
    """Kg more of what is compared that one SI unit more of each input costs, to first order."""
    case = Case(ascent.vehicle, ascent.mission)
    flat = inputs_of(case.vehicle, case.mission)
    known = {row.quantity: row for row in ascent.partials}
    found = {}
    for variation in variations(case):
        row = known.get(variation.quantity)
        moved = None if row is None else _moved(variation, flat)
        if row is not None and moved is not None:
            names, by = moved
            cost = row.propellant - (row.margin if ascent.ballast else 0.0)
            found[TOGETHER.join(names)] = kept(cost / by, DIGITS)
    return found


def _moved(variation: Variation, flat: dict[str, Input]) -> tuple[list[str], float] | None:
    """The inputs that a variation moves, and SI units of the first one for a unit of its own.

    None where the description allows neither more nor less, or where it moves a table.
    """
    for step in (STEP, -STEP):
        try:
            changed = variation.changed(step)
        except InputError:
            continue
        moves = list(_moves(flat, inputs_of(changed.vehicle, changed.mission)))
        if moves and all(by is not None for _, by in moves):
            return [name for name, _ in moves], (moves[0][1] or 0.0) / step
        return None
    return None


def _moves(flat: dict[str, Input], changed: dict[str, Input]) -> Iterator[tuple[str, float | None]]:
    """Names of inputs that differ and by how much; None where they are no numbers."""
    for name, old in flat.items():
        new = changed.get(name)
        if isinstance(old, int | float) and isinstance(new, int | float):
            if abs(new - old) > _MOVED * abs(old):
                yield name, new - old
        elif not _alike(old, new):
            yield name, None


def _alike(old: Input, new: Input | None) -> bool:
    if isinstance(old, tuple) and isinstance(new, tuple) and len(old) == len(new):
        return all(abs(b - a) <= _MOVED * abs(a) for a, b in zip(old, new, strict=True))
    return old == new
