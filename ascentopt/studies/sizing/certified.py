"""The ascent of a design that was flown, with its certificate."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.collocation import as_iterate_of
from ascentopt.errors import InfeasibleAscent
from ascentopt.flight.simulation.preload import integrators_preloaded
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.assembly import ComparedStructures, ascent_of, confirmed
from ascentopt.optimal.result.closed_loop import close_loop
from ascentopt.optimal.result.lift_off_instant import turned_to_its_orbit
from ascentopt.optimal.solve.relaxed_tank import by_own_tank
from ascentopt.optimal.task import Task


def certified(task: Task, mission: Mission, flight: Attempt) -> Ascent | None:
    """The ascent of a task's vehicle from its flight; None where its tank does not quite hold it.

    The flight was solved for with a tank that may be overdrawn, and burns what there is but for
    next to nothing: with the tank's bound so near the solver would creep, and there is no need of
    it, as the bound does not act.

    Args:
        task: with the vehicle's own tank, and what waits for an instant of lift-off free.
        mission: as it was given.
        flight: the vehicle's best, from which nothing is missing.

    Raises:
        TimeIsUp: when no time is left.
    """
    own = by_own_tank(task, flight)
    if not own.flies:
        return None
    try:
        with integrators_preloaded():
            best, _ = best_refined(task, [own])
        arrival = close_loop(task, best)
        if not _holds(arrival.attempt):
            return None
        arrival = replace(arrival, attempt=_with_own_bounds(task, arrival.attempt))
        found = confirmed(ascent_of(task, arrival, ComparedStructures()))
    except InfeasibleAscent:
        return None
    return turned_to_its_orbit(found, mission)


def _holds(flight: Attempt) -> bool:
    """Whether the tank held what was burned."""
    return flight.sequence.propellant_left(flight.cut_off_mass) >= 0.0


def _with_own_bounds(task: Task, flight: Attempt) -> Attempt:
    """The flight as a solution of its vehicle's own program: partials count from its own bounds.

    The relaxed tank is in the lengths of burns and in the least masses alone.
    """
    found = flight.found
    written = flight.transcription_of(task.vehicle, task.mission, flight.sequence, found)
    own = written.greatest_mass_problem()
    arcs = tuple(
        replace(arc, duration=mine.duration, state_bounds=mine.state_bounds)
        for arc, mine in zip(found.problem.arcs, own.arcs, strict=True)
    )
    there = as_iterate_of(replace(found.problem, arcs=arcs, spans=own.spans), found)
    return replace(flight, solution=replace(there, outcome=found.outcome))


def with_structures_of(ascent: Ascent, searched: Ascent) -> Ascent:
    """The ascent with what a search said of other structures, where it came to the same one."""
    if ascent.plan != searched.plan:
        return ascent
    certificate = replace(ascent.certificate, structures=searched.certificate.structures)
    others = (one for one in searched.candidates if one.plan != ascent.plan)
    return replace(ascent, certificate=certificate, candidates=(*ascent.candidates[:1], *others))
