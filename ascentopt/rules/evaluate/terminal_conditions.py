"""What a rule's flight is to end in: its numbers given, by how much each end misses the orbit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import cached_property

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.rules.insertion.insertion import Arrival, Insertion, Unknowns
from ascentopt.rules.laws.rule import Pad, Rule, steps_of
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import ThrottleProgramme
from ascentopt.typing import Floats
from ascentopt.world.orbital_elements import climb_and_level, elements

TOLERANCES = np.array([0.1, 1e-4, 1e-4, 1e-7])
"""m, m/s, m/s and rad: miss of the orbit that is not worth another step, where all is exact."""

_LARGEST_DEBT = 0.6
"""Part of the dry mass at insertion that a flight may owe: it says by how much it falls short."""


@dataclass(frozen=True, eq=False, kw_only=True)
class InsertionProblem:
    """A rule with its numbers, an insertion whose unknowns are open, and the orbit to be met.

    `slack` is how many times 0.1 m, 0.1 mm/s and 1e-7 rad of inclination the orbit may be missed;
    `compiled` are flights by plan that others of the same problem share.
    """

    vehicle: Vehicle
    mission: Mission
    rule: Rule
    insertion: Insertion
    arrival: Arrival
    throttling: ThrottleProgramme | None
    plan: FlightPlan
    sequence: Sequence
    values: tuple[float, ...]
    slack: float = 1.0
    compiled: dict[FlightPlan, CompiledFlight] = field(default_factory=dict)

    @cached_property
    def tolerances(self) -> Floats:
        """(4,) m, m/s, m/s and rad by which the orbit may be missed."""
        return self.slack * TOLERANCES

    @property
    def radius(self) -> float:
        """Where it ends, m."""
        return self.arrival.radius

    @property
    def speed(self) -> float:
        """There, m/s."""
        return self.arrival.speed

    @property
    def _mu(self) -> float:
        return self.mission.body.gravitational_parameter

    @property
    def inclination(self) -> float | None:
        """Of the orbit, rad, if it is given."""
        inclination: float | None = self.mission.orbit.inclination
        return inclination

    def steps(self, heading: float) -> tuple[Phase, ...]:
        """The rule's, towards a heading."""
        pad = Pad(mission=self.mission, sequence=self.sequence, heading=heading)
        return steps_of(self.rule, self.values, pad)

    def law(self, steps: tuple[Phase, ...], unknowns: Unknowns) -> Programme:
        """Steering with these."""
        law = self.insertion.law(self.plan, self.sequence, steps, unknowns)
        return law if self.throttling is None else replace(law, throttling=self.throttling)

    def flight(self, law: Programme) -> CompiledFlight:
        """Under a law; no two of a problem may fly at the same time."""
        if self.plan not in self.compiled:
            self.compiled[self.plan] = CompiledFlight(
                self.sequence,
                law,
                fairing_heating=self.vehicle.max_heating,
                allowed_debt=_LARGEST_DEBT * self.sequence.arcs[-1].least_mass,
                slack=self.slack,
            )
        return self.compiled[self.plan].steered_by(law)

    def miss(self, mark: Checkpoint) -> Floats:
        """(4,) m of radius, m/s of climb and of level speed, rad of inclination, too much."""
        position, velocity = mark.state[:3], mark.state[3:6]
        radius = float(np.linalg.norm(position))
        climb, level = climb_and_level(position, velocity)
        tilt = 0.0
        if self.inclination is not None:
            tilt = elements(self._mu, position, velocity).inclination - self.inclination
        found: Floats = np.array([radius - self.radius, climb, level - self.speed, tilt])
        return found
