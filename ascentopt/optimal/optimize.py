"""The main job: from a rocket and a mission to the least-propellant ascent."""

from __future__ import annotations

from collections.abc import Generator
from dataclasses import dataclass, field, replace
from typing import cast

from ascentopt.arguments import checked
from ascentopt.collocation import Refinement, SolverSettings
from ascentopt.errors import InfeasibleAscent, InputError, Interrupted, OutOfTime, UnconfirmedAscent
from ascentopt.flight.simulation.preload import integrators_preloaded
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.bounds.impulsive import check_bound
from ascentopt.optimal.bounds.inserting_stages import inserting_stages_in_turn
from ascentopt.optimal.bounds.lift_off import check_lift_off
from ascentopt.optimal.deadline import Deadline, TimeIsUp
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight_seen
from ascentopt.optimal.explain.out_of_reach import seen_in_haste
from ascentopt.optimal.explain.refusal import (
    infeasible,
    interrupted,
    out_of_bounds,
    out_of_time,
    too_heavy,
)
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.answer import ComparedStructures, ascent_of, confirmed
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.closed_loop import close_loop
from ascentopt.optimal.result.hidden_bounds import active_bounds
from ascentopt.optimal.result.lift_off_instant import (
    turned_to_its_orbit,
    with_awaited_angles_free,
    with_lift_off_instants,
)
from ascentopt.optimal.result.place_on_orbit import ended_where_best
from ascentopt.optimal.solve.neighbour import solve_from_neighbour
from ascentopt.optimal.solve.relaxed_tank import (
    by_own_tank,
    measured_by_own_tank,
    with_relaxed_tank,
)
from ascentopt.optimal.structure.census import SETTLED_BY, Grounds, census
from ascentopt.optimal.structure.dominance import argued_away
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.imposed_limits import (
    AttemptsInTurn,
    best_first,
    limits_imposed_in_turn,
    nearest_within_limits,
)
from ascentopt.optimal.structure.search import SearchResult
from ascentopt.optimal.structure.second_starts import search_from
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle
from ascentopt.tables import in_a_line


@checked
@dataclass(frozen=True, kw_only=True)
class Effort:
    """How hard to try.

    Args:
        settings: of the interior-point solver.
        refinement: when the mesh is fine enough; by default a continuous error of 1e-6 of the
            scales (millimetres per second and metres at the insertion) and limits kept to half a
            per cent between the nodes.
        exhaustive: whether every structure that vehicle and mission allow, with two coasts at most
            or one move away from the best one, is solved for from every start, whatever its bound
            or its gain to first order says; takes ten times as long or more.
        time_limit: processor seconds for the whole of `optimize`, after which it raises
            `OutOfTime` with the best flight so far, or refuses without looking for a payload that
            flies; kept to half a second and the refinement that has begun. None for no limit.
    """

    settings: SolverSettings = field(
        default_factory=lambda: SolverSettings(iterations=150, time_limit=20.0)
    )
    refinement: Refinement = field(
        default_factory=lambda: Refinement(tolerance=1e-6, path_tolerance=5e-3, rounds=8)
    )
    time_limit: float | None = None
    exhaustive: bool = False

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        if self.time_limit is not None and not self.time_limit > 0.0:
            raise InputError(
                f"Effort: time_limit is {self.time_limit}; it must be positive. Raise it, or give "
                "None for no limit."
            )


@dataclass(frozen=True, eq=False)
class Optimum:
    """An ascent with the attempt behind it, from which a neighbouring one can be solved."""

    ascent: Ascent
    attempt: Attempt


@checked
def optimize(vehicle: Vehicle, mission: Mission, effort: Effort = Effort()) -> Ascent:
    """Return the ascent that leaves the most propellant in the orbit.

    Direct insertion is solved for, and where the last stage can be lit again also burn, coast,
    burn; where the stages below the last may have enough, insertion by one of them. This is done
    first without limits on loads and then within them (not where another candidate is better
    already); the best one is refined, exported as a steering table and flown by an independent
    integrator. No guess is needed. Where the orbit's ascending node is given, or over the
    equator its argument of periapsis, and the mission leaves the instant of lift-off free, the
    ascent's mission names the one that costs least.

    Raises:
        InputError: what cannot be right, such as a thrust below the weight at lift-off.
        InfeasibleAscent: the orbit cannot be reached; says by how much.
        OutOfTime: when the effort has a time limit and it is up; carries the best flight so far,
            marked as such.
        Interrupted: by the keyboard; likewise.
    """
    return optimum(vehicle, mission, effort).ascent


def optimum(
    vehicle: Vehicle, mission: Mission, effort: Effort, neighbour: Attempt | None = None
) -> Optimum:
    """As `optimize`; with a neighbour's attempt, from its solution and with its plan alone.

    Raises:
        InputError, InfeasibleAscent, OutOfTime: as `optimize`.
    """
    try:
        found = _optimum_at_fixed_instant(
            vehicle, with_awaited_angles_free(mission), effort, neighbour
        )
    except (OutOfTime, Interrupted, UnconfirmedAscent) as stop:
        stop.best = (
            turned_to_its_orbit(stop.best, mission) if isinstance(stop.best, Ascent) else stop.best
        )
        raise
    except InfeasibleAscent as refusal:
        raise with_lift_off_instants(refusal, mission) from None
    return replace(found, ascent=turned_to_its_orbit(found.ascent, mission))


def _optimum_at_fixed_instant(
    vehicle: Vehicle, mission: Mission, effort: Effort, neighbour: Attempt | None
) -> Optimum:
    """As `optimum`, where the instant of lift-off is fixed or does not matter."""
    check_lift_off(vehicle, mission)
    task = task_of(vehicle, mission, effort)
    try:
        check_bound(vehicle, mission)
    except InfeasibleAscent as refusal:
        raise out_of_bounds(task, refusal) from None
    search = StoppableSearch(_solve_structures(task, neighbour))
    try:
        return search.result()
    except KeyboardInterrupt as stop:
        raise interrupted(task, search.attempts_of(task)) from stop
    except TimeIsUp:
        raise out_of_time(task, search.attempts_of(task), effort.time_limit or 0.0) from None


def task_of(vehicle: Vehicle, mission: Mission, effort: Effort = Effort()) -> Task:
    """The task with so much effort; its time begins to run."""
    return Task(
        vehicle=vehicle,
        mission=mission,
        settings=effort.settings,
        refinement=effort.refinement,
        deadline=Deadline.after(effort.time_limit),
        exhaustive=effort.exhaustive,
    )


SearchSteps = Generator[list[Attempt], None, Optimum]
"""All attempts as they stand, after each step; at last the optimum."""


class StoppableSearch:
    """A search for the optimum that may be stopped by the clock, or by the user.

    Attributes:
        attempts: all structures so far, each as far as it has come.
    """

    def __init__(self, steps: SearchSteps) -> None:
        self._steps = steps
        self.attempts: list[Attempt] = []

    def attempts_of(self, task: Task) -> list[Attempt]:
        """The attempts by the tank that a task's vehicle has, which they may overdraw."""
        return [by_own_tank(task, one) for one in self.attempts]

    def result(self) -> Optimum:
        """Search to the end."""
        while True:
            try:
                self.attempts = next(self._steps)
            except StopIteration as end:
                return cast(Optimum, end.value)


def _solve_structures(task: Task, neighbour: Attempt | None) -> SearchSteps:
    """The optimum, and on the way how far each structure has come."""
    if neighbour is not None:
        return (yield from _optimum_of_neighbour(task, neighbour))
    known = seen_in_haste(task)
    roomy = with_relaxed_tank(task)
    first, *others = inserting_stages_in_turn(task.vehicle, task.mission)
    # Builds programs: an import would only share Python's lock with it.
    attempts = yield from _with_inserting_stage(roomy, [], first)
    with integrators_preloaded():  # the flight at the end needs them
        attempts = yield from limits_imposed_in_turn(roomy, attempts)
        for stage in others:
            attempts = yield from _with_inserting_stage(roomy, attempts, stage)
            attempts = yield from limits_imposed_in_turn(roomy, attempts)
        attempts = best_first([measured_by_own_tank(task, one) for one in attempts])
        yield attempts
        if not attempts[0].flies:
            attempts = _with_flight_from_lighter_vehicle(task, attempts, known)
            yield attempts
        search, attempts = search_from(task, attempts)
        yield attempts
        attempts = [ended_where_best(task, search.best), *attempts[1:]]
        yield attempts
        best, beaten = best_refined(task, attempts)
    arrival = close_loop(task, best)
    compared = _structures_compared(task, arrival.attempt, beaten, attempts, search)
    return Optimum(confirmed(ascent_of(task, arrival, compared)), arrival.attempt)


def _optimum_of_neighbour(task: Task, neighbour: Attempt) -> SearchSteps:
    """The optimum of a neighbour's plan, from the neighbour's solution."""
    attempts = [solve_from_neighbour(task, neighbour)]
    yield attempts
    with integrators_preloaded():
        attempts = yield from limits_imposed_in_turn(task, attempts)
        if not attempts[0].flies:
            raise infeasible(task, attempts)
        best, beaten = best_refined(task, attempts)
    arrival = close_loop(task, best)
    ascent = ascent_of(task, arrival, ComparedStructures(others=tuple(beaten)))
    return Optimum(confirmed(ascent), arrival.attempt)


def _with_inserting_stage(task: Task, attempts: list[Attempt], stage: int) -> AttemptsInTurn:
    """The attempts with one after another in which a stage inserts, without limits on loads."""
    for one in structures_without_load_limits(task, attempts, stage):
        attempts = [*attempts, one]
        yield attempts
    return attempts


def _with_flight_from_lighter_vehicle(
    task: Task,
    attempts: list[Attempt],
    known: HeaviestFlight | Attempt | None,
) -> list[Attempt]:
    """The attempts with one that flies after all, from a lighter vehicle's flight.

    What is ``known`` of it stands.

    Raises:
        InfeasibleAscent: where there is none, with the payload that flies, or with what the limits
            on loads keep every flight from.
    """
    known = known or heaviest_flight_seen(task, attempts)
    if isinstance(known, Attempt):
        return best_first([known, *attempts])
    if isinstance(known, HeaviestFlight):
        raise too_heavy(task, list(attempts), known)
    seen = nearest_within_limits(task, list(attempts))
    if not seen[0].flies:
        raise infeasible(task, list(seen))
    return seen


def _structures_compared(
    task: Task,
    best: Attempt,
    beaten: list[Attempt],
    attempts: list[Attempt],
    search: SearchResult,
) -> ComparedStructures:
    """What the answer was compared with, all on first meshes."""
    coarse = next(
        (one for one in attempts if one.history == best.history[: len(one.history)]), None
    )
    start = coarse or best
    rest = [one for one in attempts if one is not start]
    case = Case(task.vehicle, task.mission)
    worth = SETTLED_BY * task.vehicle.propellant_mass
    grounds = Grounds(
        worth=worth,
        left_out=search.left_out,
        active_bounds=active_bounds(task.mission, best, task.vehicle.propellant_mass),
        argued=lambda plan: argued_away(case, best, plan, worth),
        refined=frozenset(
            one.plan for one in beaten if one.refined and one.unspent <= best.unspent + worth
        ),
    )
    return ComparedStructures(tuple(beaten), coarse, census(start, rest, grounds))
