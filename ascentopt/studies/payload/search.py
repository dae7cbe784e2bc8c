"""The greatest payload, as one program on the optimum's structure, certified like any ascent.

No payload that is given decides where it begins: ideal delta-v that few ascents do with less than
names one, where structures are compared as `optimize` does it, with tanks that may be overdrawn.
From there the payload is free. Structures are compared once more where it matters, next to the
greatest payload; the best flight there is refined, the payload freed again on its last meshes, and
the flight of the payload found is solved and flown as any other.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, field, replace
from typing import Any, TypeVar

from ascentopt.errors import InfeasibleAscent
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.simulation.preload import integrators_preloaded
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.by_inserting_stage import structures_within_limits
from ascentopt.optimal.design.solve import Designed
from ascentopt.optimal.explain.refusal import infeasible
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.payload.freed import NARROW, TO_SPARE, FreedPayload, left_of
from ascentopt.optimal.payload.stages_lit import with_stages_lit
from ascentopt.optimal.payload.start import beginnings, solved_again
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.lift_off_instant import (
    turned_to_its_orbit,
    with_awaited_angles_free,
)
from ascentopt.optimal.result.place_on_orbit import ended_where_best
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.stoppable_search import StoppableSearch
from ascentopt.optimal.structure.enumeration import solved_or_skipped
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.optimal.structure.search import search_from
from ascentopt.optimal.structure.search_by_moves import SearchResult
from ascentopt.optimal.task import LOG, Task
from ascentopt.progress import Watch
from ascentopt.rocket import Vehicle
from ascentopt.studies.payload.arrival import (
    ComparedFlights,
    GreatestPayload,
    PayloadArrival,
)

R = TypeVar("R")

Begun = tuple[Designed, list[Attempt]]
"""The greatest payload of the best structure, and all structures at the payload begun with."""

COMPARISONS = 4
"""Times at most that structures are compared, each next to a greater payload."""


def left_over(ascent: Ascent) -> float:
    """Kg left beside the mission's reserve, of propellant or of ballast."""
    return ascent.propellant_margin + ascent.ballast


@dataclass(eq=False)
class PayloadSearch:
    """A search for the greatest payload; `so_far` may be asked at any time.

    Args:
        vehicle, mission, effort: as in `optimize`; the vehicle's payload does not matter.
        reserve: kg to be left beside the mission's.
        watch: is told.
    """

    vehicle: Vehicle
    mission: Mission
    effort: Effort
    reserve: float
    watch: Watch[Any]
    _known: Callable[[], Ascent | None] = field(default=lambda: None)
    freed: FreedPayload = field(init=False)

    def __post_init__(self) -> None:
        mission = with_awaited_angles_free(self.mission)
        task = task_of(self.vehicle, mission, self.effort, self.watch)
        self.freed = FreedPayload(task, self.reserve)

    def so_far(self) -> Ascent | None:
        """The heaviest flight that is known, marked as unfinished; None where there is none."""
        found = self._known()
        if found is None or left_over(found) < self.reserve:
            return None
        return turned_to_its_orbit(found, self.mission)

    def result(self) -> GreatestPayload:
        """Search to the end.

        Raises:
            InputError: a vehicle that its engines do not lift without payload.
            InfeasibleAscent: even without payload the orbit is not reached, or the reserve not
                left.
        """
        designed, attempts = self._begun()
        settled: frozenset[FlightPlan] = frozenset()
        for _ in range(COMPARISONS):
            payload = designed.vehicle.payload_mass
            task, attempts, search = self._compared(designed, attempts, settled)
            settled = frozenset(one.plan for one in attempts)
            if _spare_speed(self.vehicle, attempts[0], task) < 2.0 * TO_SPARE:
                break  # none is better than the one whose payload is known
            designed = self._designed(task, attempts)
            if designed.vehicle.payload_mass < (1.0 + NARROW) * payload:
                break
        return self._finished(task, attempts, search)

    def _begun(self) -> Begun:
        """Structures within the limits at a payload, and the greatest that the best leads to.

        Raises:
            InfeasibleAscent: where there is none.
        """

        def structures(task: Task) -> list[Attempt]:
            return self._in_phase(task, structures_within_limits(task))

        for one in beginnings(self.freed.task, self.reserve, structures):
            found = self.freed.designed(one.task, one.attempts)
            if found is not None:
                lit, known = with_stages_lit(self.freed, (found, one.attempts), structures)
                return self._told(lit), known
        return self._begun_empty()

    def _begun_empty(self) -> Begun:
        """From the flight without payload, which is refused where there is none."""
        task = self.freed.carrying(0.0)
        found = optimum(task.vehicle, task.mission, self.effort, watch=self._inner())
        return self._designed(task, [found.attempt]), [found.attempt]

    def _inner(self) -> Watch[Any]:
        return self.watch.inside("optimize", LOG)

    def _in_phase(self, task: Task, steps: AttemptsInTurn[R]) -> R:
        """Take some steps at a payload; what they find is known from then on."""
        search, before = StoppableSearch(task, steps), self._known
        self._known = lambda: search.so_far() or before()
        return search.result()

    def _designed(self, task: Task, attempts: list[Attempt]) -> Designed:
        """The greatest payload of the best structure that is solved for it.

        Raises:
            InfeasibleAscent: where there is none.
        """
        found = self.freed.designed(task, attempts)
        if found is None:
            raise self._too_little()
        return self._told(found)

    def _told(self, found: Designed) -> Designed:
        self.watch.finishes(f"{found.attempt.plan}: {found.vehicle.payload_mass:.2f} kg of payload")
        return found

    def _too_little(self) -> InfeasibleAscent:
        """Why no payload is found: what a flight without any leaves, or why there is none."""
        empty = self.freed.carrying(0.0)
        found = optimum(empty.vehicle, self.mission, self.effort, watch=self._inner()).ascent
        left = left_over(found)
        if left >= self.reserve:
            told = f"{self.vehicle.name}: no payload was found that flies, though it does without."
        else:
            told = (
                f"{self.vehicle.name} with 0.00 kg of payload leaves {left:.2f} kg of propellant "
                f"in the orbit; {self.reserve:.2f} kg are asked for. Ask for less, or add "
                "propellant."
            )
        return InfeasibleAscent(told, best=found)

    def _compared(
        self, designed: Designed, attempts: list[Attempt], settled: frozenset[FlightPlan]
    ) -> tuple[Task, list[Attempt], SearchResult]:
        """Structures compared by moves, next to the greatest payload of the best one."""
        next_to = self.freed.next_to(designed)
        if next_to is None:
            raise infeasible(self.freed.task, [designed.attempt])
        task, best = next_to
        roomy = with_relaxed_tank(task)

        def steps() -> AttemptsInTurn[tuple[SearchResult, list[Attempt]]]:
            yield [best]
            again = list(_compared_again(roomy, best, attempts))
            known = yield from limits_imposed_in_turn(roomy, [best, *again])
            search, found = yield from search_from(roomy, known, settled)
            yield found
            placed = [ended_where_best(roomy, search.best), *found[1:]]
            yield placed
            return search, placed

        search, found = self._in_phase(task, steps())
        return task, found, search

    def _finished(
        self, task: Task, attempts: list[Attempt], search: SearchResult
    ) -> GreatestPayload:
        """The best flight refined, its payload made greatest on its last meshes, and flown."""
        roomy = with_relaxed_tank(task)
        with integrators_preloaded():
            best, beaten = best_refined(roomy, attempts)
        found = ComparedFlights(attempts, search, beaten)
        return PayloadArrival(self.freed, self.mission).flown(self._designed(task, [best]), found)


def _compared_again(task: Task, best: Attempt, attempts: list[Attempt]) -> Iterator[Attempt]:
    """Structures that were solved for at another payload, at the one of a best flight.

    What spoke against one there, or kept it from being solved, need not do so here; and to what is
    far from there no flight may lead.
    """
    others = [one for one in attempts if one.plan != best.plan]
    known = [best]
    for one in sorted(others, key=lambda one: not one.reached):
        again = solved_again(task, one)
        is_open = again.skipped or (again.shortfall is None and not again.reached)
        known.append(solved_or_skipped(task, one.plan, known) if is_open else again)
        yield known[-1]


def _spare_speed(vehicle: Vehicle, flight: Attempt, task: Task) -> float:
    """Speed in m/s that what a flight has left is worth, by its own tank."""
    own = replace(flight, sequence=task.arcs_of(flight.plan))
    stage = own.sequence.arcs[-1].stage
    return vehicle.stages[stage].engine.exhaust_speed * left_of(own) / own.final_mass
