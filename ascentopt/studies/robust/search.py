"""Downhill from the optimum's programme over a fixed set of draws."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ascentopt.guided.deviations import Deviations
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.outcomes import Outcomes
from ascentopt.numerics.trust_region import ElasticProblem, Patience, search_in_trust_region
from ascentopt.steering import TabulatedSteering
from ascentopt.studies.dispersions.load_shares import SLACK
from ascentopt.studies.robust.criteria import Criterion
from ascentopt.studies.robust.shift import PitchShift
from ascentopt.typing import Floats
from ascentopt.units import deg

_NUDGE = 0.1
"""Degrees: large beside what rounding and steps leave to chance, small beside what matters."""

_UNIT = 1e-5  # of the propellant: what the search counts cost in
_SHARP = 0.2  # of these: gain no longer worth a step
_PRICE = 50.0
"""Of a hundredth by which a load grows, in these, as in the descent of simpler programmes."""

_MOST_STEPS = 8
_FARTHEST = 10.0  # degrees
_ACCELERATION = 15.0  # m/s^2: of the order of what a launcher has in the air


class Tried(NamedTuple):
    """A programme that was flown.

    Attributes:
        shift: of its pitch.
        left: kg that count.
        merit: what is descended; less is better.
    """

    shift: PitchShift
    left: float
    merit: float


class FoundShift(NamedTuple):
    """The best programme, and the loads that keep it from being another one, by name."""

    shift: PitchShift
    held: tuple[str, ...]


class _Remembered:
    """What is measured once is not flown again."""

    def __init__(self, measures: Callable[[Floats], Floats]) -> None:
        self._measures = measures
        self.known: dict[bytes, Floats] = {}

    def __call__(self, x: Floats) -> Floats:
        key = x.tobytes()
        if key not in self.known:
            self.known[key] = self._measures(x)
        return self.known[key]


@dataclass(frozen=True, eq=False, kw_only=True)
class RobustSearch:
    """What is descended.

    Args:
        flight: by the optimum's programme.
        table: that programme.
        deviations: of the draws that all programmes are flown with.
        against: what of the flights counts.
        limits: of the loads by name; those without one (nan) may grow.
        times: (k + 1,) s of the knots.
        told: is given each programme that is flown.
    """

    flight: DispersedFlight
    table: TabulatedSteering
    deviations: Deviations
    against: Criterion
    limits: dict[str, float]
    times: tuple[float, ...]
    told: Callable[[Tried], None]

    @property
    def unit(self) -> float:
        """Kilograms."""
        return _UNIT * self.flight.prepared.vehicle.propellant_mass

    def shift(self, x: Floats) -> PitchShift:
        """Of (k,) degrees at the knots but the first."""
        return PitchShift(self.times, (0.0, *(float(one) * deg for one in x)))

    def found(self) -> FoundShift:
        """The best programme."""
        count = len(self.times) - 1
        base = self._flown(np.zeros(count))
        allowed = self._allowed(base)

        def measured(x: Floats, found: Outcomes) -> Floats:
            known = self._measures(found, allowed)
            merit = float(known[0] + _PRICE * max(0.0, -known[1:].min(initial=0.0)))
            self.told(Tried(self.shift(x), -self.lost(found), merit))
            return known

        measures = _Remembered(lambda x: measured(x, self._flown(x)))
        measures.known[np.zeros(count).tobytes()] = measured(np.zeros(count), base)

        def slopes(x: Floats) -> Floats:
            """By steps forward from what is flown at x."""
            nudges = _NUDGE * np.eye(count)
            return np.stack([(measures(x + one) - measures(x)) / _NUDGE for one in nudges], axis=1)

        problem = ElasticProblem(
            measures=measures, slopes=slopes, matrix=np.zeros((0, count)), offsets=np.zeros(0),
            low=np.full(count, -_FARTHEST), high=np.full(count, _FARTHEST), price=_PRICE,
            curvature=self._curvature(count),
        )  # fmt: skip
        patience = Patience(steps=_MOST_STEPS, sharp=_SHARP, radius=0.5)
        settled = search_in_trust_region(problem, np.zeros(count), patience)
        priced = zip(allowed, settled.prices, strict=True)
        return FoundShift(self.shift(settled.x), tuple(name for name, price in priced if price > 0))

    def _allowed(self, base: Outcomes) -> dict[str, float]:
        """Of each load that has a limit: that, or what it is already where that is more."""
        return {
            name: max((1.0 + SLACK) * limit, self.against.of(getattr(base.loads, name)))
            for name, limit in self.limits.items()
            if not np.isnan(limit)
        }

    def _measures(self, found: Outcomes, allowed: dict[str, float]) -> Floats:
        """Cost, and the room of each load in hundredths."""
        rooms = [
            100.0 * (1.0 - self.against.of(getattr(found.loads, name)) / most)
            for name, most in allowed.items()
        ]
        return np.array([self.lost(found) / self.unit, *rooms])

    def lost(self, found: Outcomes) -> float:
        """Kilograms that count: less what is left, a fall as if a whole last stage were missing."""
        last = self.flight.prepared.vehicle.stages[-1].propellant_mass
        return self.against.of(-np.nan_to_num(found.margin, nan=-last))

    def _flown(self, x: Floats) -> Outcomes:
        return self.shift(x).flown_by(self.flight, self.table).fly(self.deviations)

    def _curvature(self, count: int) -> Floats:
        """(k, k) of the cost, as of speed lost for thrust off by an angle: half its square."""
        vehicle = self.flight.prepared.vehicle
        last = vehicle.stages[-1]
        speed = _ACCELERATION * (self.times[-1] - self.times[0]) / count
        per_speed = (vehicle.payload_mass + last.dry_mass) / last.engine.exhaust_speed
        return np.eye(count) * speed * per_speed * deg**2 / self.unit
