"""A structure of the flight with what solving it gave."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum
from math import inf

import numpy as np

from ascentopt.collocation import Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.problem.elastic_limits import ElasticSolution
from ascentopt.optimal.problem.switching_function import switching_function
from ascentopt.optimal.problem.transcription import Transcription, lead_of
from ascentopt.rocket import Vehicle

NO_LENGTH = 0.01
"""s. A stretch that is no longer moves no flight, and its costates are noise. A fairing dropped so
near the end of its arc would rather be dropped beyond it."""

OPTIMAL_RESIDUAL = 1e-5
"""Scaled residual of the optimality conditions up to which a flight that the solver left is its
structure's best: what the certificate asks of an answer."""


def is_optimal(flight: Solution) -> bool:
    """Whether nothing near it is better, its equations aside."""
    left = flight.residuals
    return max(left.dual, left.complementarity) <= OPTIMAL_RESIDUAL


class Standing(Enum):
    """How a candidate came out; the value says what it means."""

    BEST = "the least propellant of all candidates"
    BEATEN = "reaches the orbit, with more propellant"
    UNCONFIRMED = "reaches the orbit on a coarse mesh, but could not be refined"
    UNFINISHED = "the search was stopped: limits on loads or the mesh may be unfinished"
    INTERRUPTED = UNFINISHED  # as it was called in files where the user had stopped it
    SHORT = "cannot reach the orbit"
    SKIPPED = "not solved for, since it cannot win; the history says why"
    UNSOLVED = "the solver found neither a flight to the orbit nor the speed that is missing"


@dataclass(frozen=True, eq=False)
class Attempt:
    """A structure with what solving it gave.

    Attributes:
        plan: burns and coasts; sequence: its arcs.
        solution: the last solved program, None when none was.
        limited_arcs: arcs on which limits are imposed.
        shortfall: m/s missing at insertion; zero when the orbit is reached, None when unknown.
        history: one line for each program solved.
        needs_ground_clearance: whether it had to be kept from the ground.
        keeps_limits: whether the mission's limits on loads hold; before that the mass is a bound.
        skipped: whether nothing was solved for it.
        nearest_flight: where the orbit is not reached, the one with the least missing speed; where
            that is nothing and only the greatest mass was not found, ``shortfall`` is None all the
            same.
        refined: whether the mesh was refined to its tolerance; None before it was tried.
        least_violation: the flight to the orbit that violates the limits on loads least; only where
            they have to be raised for it.
        least_violation_anywhere: likewise, wherever the flight ends; only where none keeps the
            limits.
        shortfall_keeps_limits: whether ``shortfall`` is what is missing within the limits on loads.
        unspent_without_limits: kg that its flight without the limits on loads has left, where none
            within them was found.
        overdrawn_flight: where only the vehicle with a relaxed tank reaches the orbit within the
            limits, its flight.
    """

    plan: FlightPlan
    sequence: Sequence
    solution: Solution | None
    limited_arcs: frozenset[str]
    shortfall: float | None
    history: tuple[str, ...]
    keeps_limits: bool = False
    needs_ground_clearance: bool = False
    skipped: bool = False
    nearest_flight: Solution | None = None
    refined: bool | None = None
    least_violation: ElasticSolution | None = None
    least_violation_anywhere: ElasticSolution | None = None
    shortfall_keeps_limits: bool = False
    unspent_without_limits: float = -inf
    overdrawn_flight: Solution | None = None

    @property
    def reached(self) -> bool:
        """Whether the flight ends in the orbit."""
        return self.shortfall == 0.0 and self.solution is not None

    @property
    def flies(self) -> bool:
        """Whether the flight ends in the orbit and keeps to the limits on loads."""
        return self.reached and self.keeps_limits

    @property
    def least_strained(self) -> ElasticSolution | None:
        """The flight that violates the limits on loads least, wherever it ends, or to the orbit.

        None where none of them is known to have to be raised.
        """
        return self.least_violation_anywhere or self.least_violation

    @property
    def stopped_short(self) -> bool:
        """Whether it flies, but the solver stopped short of its greatest mass."""
        return self.solution is not None and not is_optimal(self.solution)

    def arc_for_the_fairing(self) -> str | None:
        """The neighbouring arc that the fairing's drop presses against; None when it is free.

        The drop is placed within an arc by a guess; the optimum may lie beyond its ends.
        """
        cut, arcs, flight = self.sequence.index_of_drop, self.sequence.arcs, self.best_known_flight
        if cut is None or flight is None:
            return None
        before, after = (flight.arcs[k].duration for k in (cut, cut + 1))
        # At the end of a coast: the burn before it may be worth something.
        early = before < NO_LENGTH or not arcs[cut].burning
        earlier, may = [k for k in self._burns_for_the_drop() if k < cut], self.sequence.may_drop_in
        if early and earlier:
            return arcs[earlier[-1]].name
        later = [arc.name for k, arc in enumerate(arcs) if k >= cut + 2 and may(k)]
        return later[0] if after < NO_LENGTH and later else None

    def other_burns_for_the_drop(self) -> tuple[str, ...]:
        """The burns in which the fairing might go, but for the one in which it does."""
        cut, arcs = self.sequence.index_of_drop, self.sequence.arcs
        if cut is None:
            return ()
        return tuple(arcs[k].name for k in self._burns_for_the_drop() if k not in (cut, cut + 1))

    def _burns_for_the_drop(self) -> list[int]:
        return [
            k
            for k, arc in enumerate(self.sequence.arcs)
            if arc.burning and arc.rise is None and self.sequence.may_drop_in(k)
        ]

    def would_rather_coast(self) -> bool:
        """Whether the last stage burns while its thrust is worth less than its propellant.

        Thrust is worth its propellant wherever a burn pays (Pontryagin); in vacuum, at full
        throttle.
        """
        return any(
            self._switching_function(k).max() > 0.0
            for k, arc in enumerate(self.sequence.arcs)
            if arc.stage == self.sequence.arcs[-1].stage and arc.kind.guidance is Guidance.STEERED
        )

    def _switching_function(self, k: int) -> Array:
        """(N,) cost of a second of full throttle at the nodes of a burn, kg/s."""
        own = self.found.arcs[k]
        if own.duration < NO_LENGTH:
            return np.full(len(own.controls), -1.0)
        return switching_function(self.sequence.arcs[k], own)

    def transcription_of(
        self, vehicle: Vehicle, mission: Mission, sequence: Sequence, solution: Solution
    ) -> Transcription:
        """Another case written as this one was, on the meshes of a solution of it."""
        return Transcription(
            vehicle=vehicle,
            mission=mission,
            sequence=sequence,
            meshes=tuple(own.arc.mesh for own in solution.arcs),
            limited_arcs=self.limited_arcs,
            needs_ground_clearance=self.needs_ground_clearance,
        ).written_as(solution)

    @property
    def flown_plan(self) -> FlightPlan:
        """The plan with the ballast that was found."""
        if not self.sequence.ballasted:
            return self.plan
        aboard = self.sequence.ballast(float(self.found.arcs[0].states[0, MASS]))
        return replace(self.plan, ballast=aboard)

    def intended_end_state(self) -> Array:
        """(6,) position and velocity at insertion that the flight, not the plan, should reach."""
        lead = np.array(lead_of(self.found.problem), dtype=np.float64)
        return np.asarray(self.planned_end_state + lead, dtype=np.float64)

    @property
    def planned_end_state(self) -> Array:
        """(6,) position and velocity in which the plan ends."""
        return self.found.arcs[-1].states[-1, :6]

    @property
    def found(self) -> Solution:
        """The solution. Raises `LookupError` for an attempt that has none."""
        if self.solution is None:
            raise LookupError(f"{self.plan}: no program was solved; look at the history.")
        return self.solution

    @property
    def best_known_flight(self) -> Solution | None:
        """The flight to the orbit, or else the nearest to it."""
        return self.solution or self.nearest_flight

    @property
    def rank(self) -> tuple[float, float]:
        """Greater is better: by the propellant left, else by how little speed is missing."""
        return self.unspent, -np.inf if self.shortfall is None else -self.shortfall

    @property
    def cut_off_mass(self) -> float:
        """Mass when the last burn is cut off that can be, kg; -inf where no orbit is reached.

        All but under a solid motor it is the mass in the orbit.
        """
        return self.found.objective if self.reached else -np.inf

    @property
    def final_mass(self) -> float:
        """Mass in the orbit, kg; -inf when it is not reached."""
        return float(self.found.arcs[-1].states[-1, MASS]) if self.reached else -np.inf

    @property
    def unspent(self) -> float:
        """Propellant aboard in the orbit, kg, the reserve and unlit stages included; as above.

        Less of it is more that was burned or dropped, whichever stage inserts.
        """
        return self.sequence.propellant_left(self.cut_off_mass) + self.sequence.reserve
