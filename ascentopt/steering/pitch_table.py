"""Pitch read from a short table, as pilots write it down: against time, altitude or speed."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from enum import Enum
from functools import cached_property
from math import pi

from ascentopt.arguments import checked
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.steering.formulas import PitchBySpeed, PitchProgramme
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.units import deg
from ascentopt.validation import instance, within

# A compass course is no great circle: once the motion leans so far, its own plane is kept.
_BY_COMPASS = 12.0 * deg

# Straight up or down, and what rounding to four digits makes of it, 1.571.
_STEEPEST = 0.5 * pi + 1e-3


class Against(Enum):
    """What a pitch table is read against; the value is its unit."""

    TIME = "s since lift-off"
    ALTITUDE = "m above the ellipsoid"
    AIR_SPEED = "m/s relative to the air"

    def of(self, now: Moment) -> float:
        """Its value at a moment."""
        if self is Against.TIME:
            return now.time
        return now.altitude if self is Against.ALTITUDE else now.air_speed


_ABSCISSAE = {
    Against.TIME: ("time", "s"),
    Against.ALTITUDE: ("altitude", "m"),
    Against.AIR_SPEED: ("air_speed", "m/s"),
}


def pitch_rows(against: Against, rows: Iterable[tuple[float, float]]) -> Table:
    """Pairs of abscissa and pitch (rad above the local horizontal) as a table."""
    return Table.of("pitch programme", [_ABSCISSAE[against], ("pitch", "rad")], rows)


@dataclass(frozen=True)
class Reached(Ending):
    """When the abscissa of a pitch table rises to `at`."""

    against: Against
    at: float

    def value(self, now: Moment) -> float:
        """Excess."""
        return self.against.of(now) - self.at


@checked
@dataclass(frozen=True, kw_only=True)
class PitchTable(SteeringLaw, Tabular):
    """Pitch linear between the rows of a table, and constant before and after them.

    The vehicle is steered by the compass until the table has leaned 12 degrees from the vertical,
    and from then on in the plane in which it moves through the air. Raises `InputError`.

    Args:
        plan: the burns and coasts.
        against: what the first column counts.
        rows: pairs of the abscissa, increasing, and the pitch in rad above the local horizontal.
        heading: rad from north, clockwise; pi/2 is due east.
        endings: pairs of an arc's name and when it ends, for arcs that do not know it themselves;
            the last burn is always one of them.
        throttle: of the core.
    """

    plan: FlightPlan
    against: Against
    rows: tuple[tuple[float, float], ...]
    heading: float = 0.5 * pi
    endings: tuple[tuple[str, Ending], ...] = ()
    throttle: float = 1.0

    def __post_init__(self) -> None:
        fix = "Give Against.TIME, Against.ALTITUDE or Against.AIR_SPEED."
        instance("PitchTable", "against", self.against, (Against,), fix)
        fix = "Give radians clockwise from north, for instance 90 * deg."
        within("PitchTable", "heading", self.heading, "rad", (-2.0 * pi, 2.0 * pi), fix)
        fix = "Give a fraction of full thrust."
        within("PitchTable", "throttle", self.throttle, "", (0.0, 1.0), fix)
        self._formula(None)  # it refuses rows that cannot be right
        fix = "Give pitch in radians above the local horizontal; 90 * deg is straight up."
        for index, (_, pitch) in enumerate(self.rows):
            within("PitchTable", f"rows[{index}][1]", pitch, "rad", (-_STEEPEST, _STEEPEST), fix)

    def to_table(self) -> Table:
        """A row for each corner, pitch in rad."""
        return pitch_rows(self.against, self.rows)

    def __repr__(self) -> str:
        return one_line(self, f"{len(self.rows)} rows against {self.against.value}", self.plan)

    @cached_property
    def phases(self) -> tuple[Ending, ...]:
        """One ends at each corner of the table, so that an integrator stops there."""
        return tuple(Reached(self.against, at) for at in self._corners)

    def command(self, now: Moment) -> Command:
        """As the table says."""
        return Command(now.direction(self._formulas[now.phase]), self.throttle)

    def formula(self, arc: FlightArc, phase: int) -> Formula | None:
        """The same; only full throttle is flown compiled."""
        return self._formulas[phase] if self.throttle == 1.0 else None

    def ending(self, arc: FlightArc) -> Ending | None:
        """As given, or None."""
        return dict(self.endings).get(arc.name)

    @cached_property
    def _corners(self) -> tuple[float, ...]:
        return tuple(sorted({at for at, _ in self.rows} | {self._leaned}))

    @cached_property
    def _formulas(self) -> tuple[Formula, ...]:
        ends = [self._formula(self.heading if at <= self._leaned else None) for at in self._corners]
        return (*ends, self._formula(None))

    @cached_property
    def _leaned(self) -> float:
        """Against at which the compass is let go: the first with the lean, else the last."""
        most = 0.5 * pi - _BY_COMPASS
        for (a, high), (b, low) in zip(self.rows, self.rows[1:], strict=False):
            if high > most >= low:
                return a + (high - most) / (high - low) * (b - a)
        return self.rows[0][0] if self.rows[0][1] <= most else self.rows[-1][0]

    def _formula(self, heading: float | None) -> PitchProgramme:
        return _FORMS[self.against](
            abscissae=tuple(at for at, _ in self.rows),
            pitches=tuple(pitch for _, pitch in self.rows),
            heading=heading,
            by_altitude=self.against is Against.ALTITUDE,
        )


_FORMS: dict[Against, type[PitchProgramme]] = {
    Against.TIME: PitchProgramme,
    Against.ALTITUDE: PitchProgramme,
    Against.AIR_SPEED: PitchBySpeed,
}
