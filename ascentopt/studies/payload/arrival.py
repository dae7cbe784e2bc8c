"""The flight of the payload found: solved, flown, and its payload corrected."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.solve import Designed
from ascentopt.optimal.explain.refusal import infeasible
from ascentopt.optimal.optimum import Optimum, structures_compared
from ascentopt.optimal.payload.freed import NOTHING, FreedPayload, left_of, next_to_nothing
from ascentopt.optimal.payload.start import solved_again
from ascentopt.optimal.result.assembly import ascent_of, confirmed
from ascentopt.optimal.result.closed_loop import ClosedLoopFlight, close_loop
from ascentopt.optimal.result.lift_off_instant import turned_to_its_orbit
from ascentopt.optimal.solve.refine import is_fine_enough, on_finer_meshes
from ascentopt.optimal.structure.search_by_moves import SearchResult
from ascentopt.optimal.task import Task

CORRECTIONS = 4
"""Solves of the flight of the payload found, each with another payload, until next to nothing is
left: the lead of a closed loop takes some of it, and so does a vehicle that is held on its pad."""


@dataclass(frozen=True, eq=False)
class GreatestPayload:
    """The greatest payload.

    Attributes:
        optimum: with it.
        designed: the last program in which it was free.
    """

    optimum: Optimum
    designed: Designed


@dataclass(frozen=True, eq=False)
class ComparedFlights:
    """What structures came to at a payload: all on first meshes, and those that were refined."""

    attempts: list[Attempt]
    search: SearchResult
    beaten: list[Attempt]


@dataclass(frozen=True, eq=False)
class PayloadArrival:
    """Flies the greatest payload that a design came to.

    Args:
        freed: what found it.
        mission: as it was given, whose node or apsides the lift-off may wait for.
    """

    freed: FreedPayload
    mission: Mission

    def flown(self, designed: Designed, found: ComparedFlights) -> GreatestPayload:
        """The flight of the payload found, its payload corrected until next to nothing is left."""
        designed = self._refined(designed)
        task = self.freed.carrying(designed.vehicle.payload_mass)
        arrival = self._arrival(task, designed, designed.plain(task))
        for _ in range(CORRECTIONS):
            more = self._correction(designed, task, arrival.attempt)
            if more == 0.0:
                break
            task = self.freed.carrying(task.vehicle.payload_mass + more)
            arrival = self._arrival(task, designed, solved_again(task, arrival.attempt))
        best, beaten = arrival.attempt, found.beaten
        compared = structures_compared(task, best, beaten, found.attempts, found.search)
        ascent = turned_to_its_orbit(confirmed(ascent_of(task, arrival, compared)), self.mission)
        return GreatestPayload(Optimum(ascent, best), designed)

    def _refined(self, designed: Designed) -> Designed:
        """The same on meshes fine enough for the payload found."""
        if is_fine_enough(designed.attempt.found, self.freed.task.refinement):
            return designed
        task = self.freed.carrying(designed.vehicle.payload_mass)
        return designed.with_solution_of(on_finer_meshes(task, designed.attempt))

    def _arrival(self, task: Task, designed: Designed, flight: Attempt | None) -> ClosedLoopFlight:
        """A flight of the task's vehicle on meshes fine enough for it, flown.

        Raises:
            InfeasibleAscent: where there is none.
        """
        if flight is None or not flight.flies:
            raise infeasible(task, [designed.attempt if flight is None else flight])
        fine = is_fine_enough(flight.found, task.refinement)
        return close_loop(
            task, replace(flight, refined=True) if fine else on_finer_meshes(task, flight)
        )

    def _correction(self, designed: Designed, task: Task, flight: Attempt) -> float:
        """Kg more of payload that leave next to nothing; none where that is so."""
        beyond, least = left_of(flight) - self.freed.reserve, next_to_nothing(task.vehicle)
        worth = designed.payload_for_left_over
        if beyond >= 0.0 and (beyond <= least or worth < NOTHING):
            return 0.0
        return worth * (beyond - 0.5 * least)
