"""Gravity turn through an angle at an altitude: 45 degrees near 10 km."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from functools import lru_cache
from itertools import takewhile
from math import asin, exp, log, pi

import numpy as np

from ascentopt.flight.crossing import Point, passes_zero
from ascentopt.flight.ending import AfterDuration, AtAltitude, AtEmpty, Ending
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.quick import Mark, OffCourse, QuickFlight
from ascentopt.flight.sequence import FlightArc
from ascentopt.rules.insertion import TooFlat, TooHigh
from ascentopt.rules.kick import HABITUAL_SPEED, kicked
from ascentopt.rules.rule import Open, Pad, Rule
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import within
from ascentopt.units import deg, km
from ascentopt.world import Body, earth

_ALTITUDE, _ANGLE = 10.0 * km, 45.0 * deg
LEAST_KICK, MOST_KICK = 0.02 * deg, 60.0 * deg
_CLOSE = 1e-4  # rad
_SHARP = 1e-6  # of the logarithm of the kick
FALLEN = pi  # rad: the lean of a flight that never gets there
_LEAST_LEAN = 1e-6  # rad; less counts as that
_NO_DROP = 1e-9  # W/m^2; no fairing goes this low


@dataclass(frozen=True, kw_only=True)
class AngleRule(Rule):
    """Tip over at 60 m/s by whatever leads through the angle at the altitude.

    45 degrees at 10 km is common practice, no source. On other bodies the altitude is where the air
    is as dense as at 10 km on Earth or, where it never is, has the same part of its density at the
    surface. Flight-path angle is that of the motion through the air, above the horizontal.

    Args:
        altitude: m; None = the habit's.
    """

    altitude: float | None = None

    @property
    def name(self) -> str:
        """Its name."""
        return "flight-path angle at an altitude"

    @property
    def open(self) -> tuple[Open, ...]:
        """How far from the vertical the motion leans at the altitude."""
        return (Open(name="lean at the altitude", unit="rad", low=0.5 * deg, high=89.0 * deg),)

    def habit(self, pad: Pad) -> tuple[float, ...]:
        """45 degrees."""
        return (_ANGLE,)

    def at(self, pad: Pad) -> float:
        """The altitude in m."""
        if self.altitude is not None:
            return self.altitude
        return habitual_altitude(pad.mission.body)

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """Those of the kick that leads there."""
        return kicked(HABITUAL_SPEED, self.kick(values[0], pad), pad.heading)

    def kick(self, lean: float, pad: Pad) -> float:
        """Angle of the kick in rad after which the motion leans so at the altitude.

        Raises:
            OffCourse: when no kick leads there; its kind says on which side.
        """
        leaning, found = Leaning(self.at(pad), pad), 0.0

        def excess(kick: float) -> float:
            # The lean grows about as the kick does, so the logarithms lie nearly on a line.
            nonlocal found
            found = leaning(kick)
            return log(max(found, _LEAST_LEAN) / lean)

        low = Point(log(LEAST_KICK), excess(log(LEAST_KICK)))
        if low.value > 0.0:
            raise TooHigh(f"even the least kick leads to a lean beyond {lean / deg:.3g} deg there")
        high = Point(log(MOST_KICK), excess(log(MOST_KICK)))
        if high.value < 0.0:
            raise TooFlat(f"no kick leads to a lean of {lean / deg:.3g} deg there")
        kick = passes_zero(excess, low, high, _SHARP)
        if abs(found - lean) > _CLOSE:
            raise TooFlat(f"a flight that leans by {lean / deg:.3g} deg there falls")
        return exp(kick)


class Leaning:
    """Lean of the motion in rad at an altitude after a kick, given its logarithm."""

    def __init__(self, altitude: float, pad: Pad) -> None:
        self.altitude, self.pad = altitude, pad
        self.plan = FlightPlan(inserting_stage=max(arc.stage for arc in pad.sequence.arcs))
        law = self._law(LEAST_KICK)
        self.flight = QuickFlight(pad.sequence, law, fairing_heating=_NO_DROP)
        self.last = _first_cut_off(pad.sequence.arcs)

    def __call__(self, kick: float) -> float:
        """`FALLEN` for a flight that never gets there."""
        law = self._law(exp(kick))
        flight = self.flight.steered_by(law, last_phase=len(law.phases))
        try:
            there = flight.fly(flight.start(), self.last)
        except OffCourse:
            return FALLEN
        if there.phase == len(law.phases):
            return _lean(flight, there)
        # A kick so slight that the motion never leans as far, since the spin of the body bends it.
        return 0.0 if flight.surroundings.altitude(there.state) > self.altitude else FALLEN

    def _law(self, kick: float) -> Programme:
        *before, last = kicked(HABITUAL_SPEED, kick, self.pad.heading)
        follow = Phase(formula=last.formula, until=AtAltitude(self.altitude))
        return Programme(
            plan=self.plan,
            steps=(*before, follow, last),
            endings=tuple(_endings(self.pad.sequence.arcs)),
            throttling=within(self.pad.mission.limits),
        )


def _first_cut_off(arcs: tuple[FlightArc, ...]) -> int:
    """Index of the arc that ends the first stage's first burn."""
    climbing = takewhile(lambda arc: arc.stage == 0 and arc.burning, arcs)
    return sum(1 for _ in climbing) - 1


def _endings(arcs: tuple[FlightArc, ...]) -> Iterator[tuple[str, Ending]]:
    """For arcs that do not know their own: a first stage burns all it has, the rest is not flown.

    A first stage that inserts has arcs like that; where there are others it ends by itself.
    """
    last = _first_cut_off(arcs)
    if arcs[last].stage == arcs[-1].stage:
        yield arcs[last].name, AtEmpty()
    for arc in arcs[last + 1 :]:
        yield arc.name, AfterDuration(0.0)


def _lean(flight: QuickFlight, mark: Mark) -> float:
    frame = flight.surroundings.at(mark.state)
    up, moving = np.array(frame[:3]), np.array(frame[9:12])
    return 0.5 * pi - asin(float(up @ moving) / float(np.linalg.norm(moving)))


@lru_cache(maxsize=32)
def habitual_altitude(body: Body) -> float:
    """The altitude in m at which 45 degrees are flown by habit.

    Raises:
        OffCourse: on a body without air.
    """
    air = body.atmosphere
    if air is None:
        raise OffCourse("there is no air to choose the altitude by")
    there, ground = (float(earth().atmosphere.density(h)) for h in (_ALTITUDE, 0.0))  # type: ignore[union-attr]
    surface = float(air.density(max(air.bottom, 0.0)))
    wanted = there if there < 0.9 * surface else surface * there / ground
    heights = np.linspace(max(air.bottom, 0.0), air.ceiling, 4001)
    densities = np.asarray(air.density(heights), dtype=float).ravel()
    return float(np.interp(-np.log(wanted), -np.log(np.maximum(densities, 1e-300)), heights))
