"""Dispersed flights in a few lines."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Protocol

import numpy as np

from ascentopt.errors import InputError
from ascentopt.guided.outcomes import End, Outcomes
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.dispersions.importance import Importance
from ascentopt.studies.dispersions.load_shares import LoadShares
from ascentopt.studies.dispersions.reserve import DispersionReserve, FirstOrder
from ascentopt.typing import Floats
from ascentopt.units import km

_SHARES = 0.9973, 0.99, 0.95, 0.9
"""Of which the first that so many flights show is told; 0.9973 is what three standard deviations
of a normal distribution hold on both sides (common practice)."""

_CONFIDENCE = 0.9
_MOST = 5  # inputs that are named
_STRAIGHT = 0.8
"""Part of the variance below which what a line has of sigma is short by more than a tenth."""


class Told(Protocol):
    """What is read of the flights."""

    @property
    def ascent(self) -> Ascent:
        """That was flown."""

    @property
    def seed(self) -> int:
        """Of the draws."""

    @property
    def count(self) -> int:
        """Flights asked for."""

    @property
    def outcomes(self) -> Outcomes:
        """Of the flights."""

    @property
    def margins(self) -> Floats:
        """(n,) kg left."""

    @property
    def nominal_margin(self) -> float:
        """Kilograms that the nominal flight leaves."""

    @property
    def first_order(self) -> FirstOrder:
        """By the partials."""

    def __len__(self) -> int:
        """Flights."""

    @property
    def in_orbit(self) -> int:
        """How many were cut off in the orbit."""

    @property
    def short(self) -> int:
        """How many ran out of propellant."""

    @property
    def fell(self) -> int:
        """How many fell."""

    def shown(self, confidence: float) -> float:
        """Share in orbit."""

    def reserve(self, share: float, confidence: float) -> DispersionReserve:
        """For a share of flights."""

    def importance(self) -> Importance:
        """What matters."""

    def loads(self, share: float, confidence: float) -> LoadShares:
        """Loads and limits."""


def summary(found: Told) -> str:
    """All that matters, a line for each."""
    one = found.ascent
    head = f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: "
    asked = "" if len(found) == found.count else f" of {found.count} asked for"
    lines = [f"{head}{len(found)} dispersed flights{asked}, seed {found.seed}"]
    lines += [_ends(found), *_left(found), *_reserve(found), *_matters(found)]
    lines += [str(row) for row in found.loads(_SHARES[1], _CONFIDENCE).rows]
    lines += _orbits(found)
    return "\n".join([*lines, "Preliminary analysis only."])


def _ends(found: Told) -> str:
    return (
        f"{found.in_orbit} in orbit, {found.short} short of propellant, "
        f"{found.fell} fell; {100 * found.shown(_CONFIDENCE):.2f} % in orbit shown at "
        f"{100 * _CONFIDENCE:g} %"
    )


def _left(found: Told) -> Iterator[str]:
    known = found.margins[~np.isnan(found.margins)]
    best = found.ascent.propellant_margin
    if len(known):
        yield (
            f"propellant left: {found.nominal_margin:.2f} kg nominal (optimum {best:.2f}), mean "
            f"{known.mean():.2f}, sigma {known.std():.2f}, least {known.min():.2f} kg"
        )


def _reserve(found: Told) -> Iterator[str]:
    for share in _SHARES:
        try:
            yield from str(found.reserve(share, _CONFIDENCE)).splitlines()
        except InputError:
            continue
        return
    least = 100 * _SHARES[-1]
    yield f"too few flights, or too many that fell, for the reserve of {least:g} % of them"
    first = found.first_order
    yield f"  by the partials sigma {first.sigma:.2f} kg"
    yield from (f"  {line}" for line in first.notes())


def _matters(found: Told) -> Iterator[str]:
    try:
        important = found.importance()
    except InputError:
        yield "too few flights to tell what matters most"
        return
    told = ", ".join(f"{row.name} ({row.rank:+.2f})" for row in important.rows[:_MOST])
    yield f"matters most, by rank correlation with the propellant left: {told}"
    if important.explained < _STRAIGHT:
        yield (
            f"a straight line in all inputs explains {100 * important.explained:.0f} % only: the "
            "partials, which are such a line, say too little"
        )


def _orbits(found: Told) -> Iterator[str]:
    inside = found.outcomes.end == End.IN_ORBIT
    if not np.any(inside):
        return
    misses = found.outcomes.misses
    position, velocity = misses.position[inside].max(), misses.velocity[inside].max()
    yield f"in orbit off by {position / km:.3f} km and {velocity:.2f} m/s at most"
