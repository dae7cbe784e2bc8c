"""The main job: from a rocket and a mission to the least-propellant ascent."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

from ascentopt.arguments import checked
from ascentopt.collocation import Refinement, SolverSettings
from ascentopt.errors import InfeasibleAscent, OutOfTime, UnconfirmedAscent
from ascentopt.flight.simulation.preload import integrators_preloaded
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.bounds.impulsive import check_bound
from ascentopt.optimal.bounds.inserting_stages import inserting_stages_in_turn
from ascentopt.optimal.bounds.lift_off import check_lift_off
from ascentopt.optimal.by_inserting_stage import with_inserting_stage
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight
from ascentopt.optimal.explain.out_of_reach import seen_in_haste
from ascentopt.optimal.explain.refusal import (
    infeasible,
    out_of_bounds,
    out_of_time,
    too_heavy,
)
from ascentopt.optimal.in_turn import AttemptsInTurn
from ascentopt.optimal.neighbours.neighbour import neighbour_of
from ascentopt.optimal.neighbours.search import solve_near
from ascentopt.optimal.optimum import Optimum, structures_compared
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.assembly import ascent_of, confirmed
from ascentopt.optimal.result.closed_loop import close_loop
from ascentopt.optimal.result.lift_off_instant import (
    turned_to_its_orbit,
    with_awaited_angles_free,
    with_lift_off_instants,
)
from ascentopt.optimal.result.place_on_orbit import ended_where_best
from ascentopt.optimal.solve.relaxed_tank import (
    measured_by_own_tank,
    with_relaxed_tank,
)
from ascentopt.optimal.stoppable_search import StoppableSearch
from ascentopt.optimal.structure.limits_in_turn import (
    best_first,
    limits_imposed_in_turn,
    nearest_within_limits,
)
from ascentopt.optimal.structure.search import search_from
from ascentopt.optimal.task import LOG, Task, unwatched
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.tables import in_a_line

NO_NEIGHBOUR = (
    "begun from nothing: near differs in more than numbers, has another program, or was stopped"
)
NOT_FLOWN = "begun from nothing: the flight of near leads to none here"


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
    """

    settings: SolverSettings = field(default_factory=lambda: SolverSettings(iterations=150))
    refinement: Refinement = field(
        default_factory=lambda: Refinement(tolerance=1e-6, path_tolerance=5e-3, rounds=8)
    )
    exhaustive: bool = False

    __repr__ = in_a_line


@checked
def optimize(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort = Effort(),
    *,
    near: Ascent | None = None,
    progress: Progress[Ascent] | None = None,
    time_limit: float | None = None,
) -> Ascent:
    """Return the ascent that leaves the most propellant in the orbit.

    Direct insertion is solved for, and where the last stage can be lit again also burn, coast,
    burn; where the stages below the last may have enough, insertion by one of them. This is done
    first without limits on loads and then within them (not where another candidate is better
    already); the best one is refined, exported as a steering table and flown by an independent
    integrator. No guess is needed. Where the orbit's ascending node is given, or over the
    equator its argument of periapsis, and the mission leaves the instant of lift-off free, the
    ascent's mission names the one that costs least.

    Args:
        vehicle, mission: what flies, and where to.
        effort: how hard to try.
        near: the ascent of a vehicle or mission that differs in a few numbers, solved or loaded:
            solving begins at its solution, and of the other structures those are solved that may
            have become better. Takes a tenth to a fifth of the time for changes of a per cent.
            Where it does not fly here, or more than numbers differ, as without; the history of the
            first candidate says so.
        progress: is given a `Step` for each structure and move that is begun or solved; its
            ``so_far`` is the best flight, marked as unfinished.
        time_limit: seconds of the clock for the whole, kept to half a second and the refinement
            that has begun; a refusal then names no payload that flies.

    Raises:
        InputError: what cannot be right, such as a thrust below the weight at lift-off, or ``near``
            saved by an older version.
        InfeasibleAscent: the orbit cannot be reached; says by how much.
        OutOfTime: when the time is up; `best` is the best flight so far, marked as unfinished.
        Interrupted: by the keyboard; likewise.
    """
    watch = Watch("optimize", LOG, progress, time_limit)
    return optimum(vehicle, mission, effort, watch=watch, near=near).ascent


def optimum(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort,
    watch: Watch[Any] | None = None,
    near: Ascent | None = None,
) -> Optimum:
    """As `optimize`, with the attempt behind the ascent.

    Raises:
        InputError, InfeasibleAscent, OutOfTime, Interrupted: as `optimize`.
    """
    task = task_of(vehicle, with_awaited_angles_free(mission), effort, watch)
    steps = _solve_structures(task) if near is None else _solved_near(task, near)
    try:
        found = _optimum_at_fixed_instant(task, mission, steps)
    except UnconfirmedAscent as stop:
        if isinstance(stop.best, Ascent):
            stop.best = turned_to_its_orbit(stop.best, mission)
        raise
    except InfeasibleAscent as refusal:
        raise with_lift_off_instants(refusal, mission) from None
    return replace(found, ascent=turned_to_its_orbit(found.ascent, mission))


def _optimum_at_fixed_instant(
    task: Task, mission: Mission, steps: AttemptsInTurn[Optimum]
) -> Optimum:
    """The optimum of a task, where the instant of lift-off is fixed or does not matter.

    What a stop carries is turned to the mission's orbit.
    """
    check_lift_off(task.vehicle, task.mission)
    try:
        check_bound(task.vehicle, task.mission)
    except InfeasibleAscent as refusal:
        raise out_of_bounds(task, refusal) from None
    search = StoppableSearch(task, steps)

    def so_far() -> Ascent | None:
        best = search.so_far()
        return None if best is None else turned_to_its_orbit(best, mission)

    try:
        with task.watch.carrying("flight to the orbit", so_far):
            return search.result()
    except OutOfTime as stop:
        raise out_of_time(stop, search.attempts) from None


def task_of(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort = Effort(),
    watch: Watch[Any] | None = None,
) -> Task:
    """The task with so much effort, told to a watch that has its time."""
    watch = watch or unwatched()
    return Task(
        vehicle=vehicle,
        mission=mission,
        settings=effort.settings,
        refinement=effort.refinement,
        deadline=watch.deadline,
        exhaustive=effort.exhaustive,
        watch=watch,
    )


def _solved_near(task: Task, ascent: Ascent) -> AttemptsInTurn[Optimum]:
    """The optimum from a neighbour's solution; where that leads to none, from nothing."""
    near = neighbour_of(task, ascent)
    found = None if near is None else (yield from solve_near(task, near))
    if found is not None:
        return found
    why = NO_NEIGHBOUR if near is None else NOT_FLOWN
    task.watch.finishes(why)
    return (yield from _solve_structures(task)).beginning_with(why)


def _solve_structures(task: Task) -> AttemptsInTurn[Optimum]:
    """The optimum, and on the way how far each structure has come."""
    known = seen_in_haste(task)
    roomy = with_relaxed_tank(task)
    first, *others = inserting_stages_in_turn(task.vehicle, task.mission)
    # Builds programs: an import would only share Python's lock with it.
    attempts = yield from with_inserting_stage(roomy, [], first)
    with integrators_preloaded():  # the flight at the end needs them
        attempts = yield from limits_imposed_in_turn(roomy, attempts)
        for stage in others:
            attempts = yield from with_inserting_stage(roomy, attempts, stage)
            attempts = yield from limits_imposed_in_turn(roomy, attempts)
        attempts = best_first([measured_by_own_tank(task, one) for one in attempts])
        yield attempts
        if not attempts[0].flies:
            attempts = _with_flight_from_lighter_vehicle(task, attempts, known)
            yield attempts
        search, attempts = yield from search_from(task, attempts)
        yield attempts
        attempts = [ended_where_best(task, search.best), *attempts[1:]]
        yield attempts
        best, beaten = best_refined(task, attempts)
        yield [best, *beaten]
    arrival = close_loop(task, best)
    compared = structures_compared(task, arrival.attempt, beaten, attempts, search)
    return Optimum(confirmed(ascent_of(task, arrival, compared)), arrival.attempt)


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
    known = known or heaviest_flight(task, attempts)
    if isinstance(known, Attempt):
        return best_first([known, *attempts])
    strained = any(one.least_strained for one in attempts)
    if known is not None and not (strained and known.payload > task.vehicle.payload_mass):
        raise too_heavy(task, list(attempts), known)
    seen = nearest_within_limits(task, list(attempts))
    if not seen[0].flies:
        raise infeasible(task, list(seen), None if known is None else known.payload)
    return seen
