"""A pitch programme as a few knots: against the clock, or against the altimeter."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise
from math import pi

import numpy as np

from ascentopt.errors import InputError
from ascentopt.steering.formulas import PitchProgramme
from ascentopt.steering.pitch_table import Against, Reached
from ascentopt.steering.programme import Phase
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats
from ascentopt.units import deg, km

_BY_COMPASS = 12.0 * deg
"""Lean of the programme up to which a heading is held by the compass, since there is hardly any
motion to follow; from then on the vehicle keeps to the plane in which it moves."""

_SHOWN = {Against.TIME: ("time since lift-off (s)", 1.0), Against.ALTITUDE: ("altitude (km)", km)}
"""How people read abscissae, and the size of the unit."""


@dataclass(frozen=True, kw_only=True)
class Knots:
    """Pitch above the local horizontal, linear between knots and constant beyond them.

    Args:
        against: what the abscissae count.
        abscissae: (k,) s since lift-off or m above the ellipsoid, increasing.
        pitches: (k,) rad.
        stops: (n,) other abscissae at which a flight begins a new phase, for instance since the
            throttle has a corner there; pitch does not change by them.
    """

    against: Against
    abscissae: tuple[float, ...]
    pitches: tuple[float, ...]
    stops: tuple[float, ...] = ()

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        if self.against not in _SHOWN:
            raise InputError(
                f"Knots: against is {self.against}; knots are against time or altitude. Give "
                "Against.TIME or Against.ALTITUDE."
            )
        self._formula(None)  # it refuses what else cannot be right

    def __str__(self) -> str:
        head, size = _SHOWN[self.against]
        rows = [f"{at / size:>24.2f}{pitch / deg:>14.2f}" for at, pitch in self.pairs]
        return "\n".join([f"{head:>24}{'pitch (deg)':>14}", *rows])

    @property
    def pairs(self) -> tuple[tuple[float, float], ...]:
        """Against and pitch of each knot."""
        return tuple(zip(self.abscissae, self.pitches, strict=True))

    def pitch(self, at: Floats) -> Floats:
        """Rad at abscissae of any shape."""
        return np.asarray(np.interp(at, self.abscissae, self.pitches), dtype=np.float64)

    def phases(self, heading: float) -> tuple[Phase, ...]:
        """Towards a heading (rad from north), a phase for each stretch.

        The pitch follows from the abscissa alone; the phases make an integrator stop at the corners
        and say from which one on the heading is that of the motion.
        """
        turned = self.turned
        stretches = sorted({*self.abscissae, *self.stops, turned})
        phases = [
            Phase(
                formula=self._formula(heading if end <= turned else None),
                until=Reached(against=self.against, at=end),
            )
            for end in stretches
        ]
        return (*phases, Phase(formula=self._formula(None)))

    @property
    def turned(self) -> float:
        """Where the pitch has leaned so far, after the first knot, that the compass is let go."""
        pairs = self.pairs
        least = 0.5 * pi - _BY_COMPASS
        if pairs[0][1] <= least:
            return pairs[0][0]
        for (a, high), (b, low) in pairwise(pairs):
            if low <= least:
                return a + (high - least) / (high - low) * (b - a)
        return pairs[-1][0]

    def _formula(self, heading: float | None) -> PitchProgramme:
        return PitchProgramme(
            abscissae=self.abscissae,
            pitches=self.pitches,
            heading=heading,
            by_altitude=self.against is Against.ALTITUDE,
        )

    def shifted(self, shifts: tuple[float, ...]) -> Knots:
        """With the last pitches changed by so much (rad), the last one first."""
        pitches = list(self.pitches)
        for place, shift in enumerate(shifts):
            pitches[-1 - place] += shift
        return replace(self, pitches=tuple(pitches))


def knots_of(steps: tuple[Phase, ...]) -> tuple[Knots, float]:
    """Knots and heading that `Knots.phases` made phases from."""
    formula = steps[0].formula
    if not isinstance(formula, PitchProgramme) or formula.heading is None:
        raise TypeError(f"these steps were not made from knots: {steps}")
    against = Against.ALTITUDE if formula.by_altitude else Against.TIME
    knots = Knots(against=against, abscissae=formula.abscissae, pitches=formula.pitches)
    known = {*knots.abscissae, knots.turned}
    ends = [step.until.at for step in steps if isinstance(step.until, Reached)]
    return replace(knots, stops=tuple(at for at in ends if at not in known)), formula.heading
