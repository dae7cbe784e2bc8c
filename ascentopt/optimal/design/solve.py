"""From a flight of a vehicle as it is to the one of the best vehicle of its design."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import Duals, NotConverged, Outcome, Solution
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.transcription import DesignTranscription
from ascentopt.optimal.solve.ladder import MASS_BARRIER
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False)
class Designed:
    """The best vehicle of a design for the burns and coasts of a flight, with its flight.

    Attributes:
        design: what was free, and asked.
        vehicle: with the numbers found.
        attempt: its flight; the solution is the design program's.
        values: (n,) of the variables.
    """

    design: Design
    vehicle: Vehicle
    attempt: Attempt
    values: Floats

    @property
    def aim(self) -> float:
        """What was asked for, in its unit, without what is left over."""
        return float(np.array(self.design.aim.worth) @ self.values)


@dataclass(frozen=True, eq=False)
class DesignSolver:
    """The solves of one design for one structure of the flight.

    Args:
        task: with a vehicle near the one that is looked for.
        design: what is free.
    """

    task: Task
    design: Design

    def solved(self, attempt: Attempt) -> Designed | None:
        """From a flight of the task's vehicle, within the limits on loads; None if not solved."""
        solver = StructureSolver.resumed(self.task, attempt)
        flight = DesignTranscription.of(
            solver.within_limits(attempt.limited_arcs), attempt.plan, self.design
        )
        solver = replace(solver, flight=flight)
        begun = self._first(solver, flight, attempt.found)
        if begun is None:
            return None
        kept = LimitedSolver(solver).impose_limits_directly(begun)
        return None if kept is None else self.designed(flight, kept)

    def designed(self, flight: DesignTranscription, attempt: Attempt) -> Designed:
        """The vehicle that a solution found."""
        values = attempt.found.free[-len(self.design.variables) :]
        vehicle = flight.vehicle_of(values)
        sequence = replace(self.task, vehicle=vehicle).arcs_of(attempt.plan)
        return Designed(self.design, vehicle, replace(attempt, sequence=sequence), values)

    def _first(
        self, solver: StructureSolver, flight: DesignTranscription, found: Solution
    ) -> Attempt | None:
        problem = flight.greatest_mass_problem()
        start = as_start(flight, problem_free(flight), found)
        told = f"{self.design.aim.name} of {', '.join(self.design.names)}"
        try:
            solution = solver.ladder.solve_on_record(
                told, problem, start, solver.brief_settings()
            )
        except NotConverged:
            near = replace(self.task.settings, near_barrier=MASS_BARRIER)
            try:
                solution = solver.ladder.solve_on_record(told, problem, start.as_guess(), near)
            except NotConverged:
                return None
        return solver.attempt_of(solution, flight)


def problem_free(flight: DesignTranscription) -> Floats:
    """(n,) values of the variables to begin with: those of the vehicle, between their bounds."""
    own, variables = flight.design.values(flight.vehicle), flight.design.variables
    pairs = zip(own, variables, strict=True)
    return np.array([min(max(value, one.lower), one.upper) for value, one in pairs])


def as_start(flight: DesignTranscription, values: Floats, found: Solution) -> Solution:
    """A plain solution as an iterate of the design's program, with its multipliers.

    What costs propellant there costs the aim here, in proportion: by as much as one of a variable
    does both.
    """
    problem, plain, duals = flight.greatest_mass_problem(), found.problem, found.duals
    scale = plain.objective.quantity.scale / problem.objective.quantity.scale
    scale *= _worth_of_left_over(flight, found)
    more = sum(len(one.quantities) for one in problem.conditions) - len(duals.conditions)
    same = np.array(problem.instants()) == np.array(plain.instants())
    old = {(one.first, one.last): one for one in plain.all_spans()}
    kept = {(s.first, s.last) for s in problem.all_spans() if old[s.first, s.last] == s}
    arcs = tuple(
        replace(
            one, rows=scale * one.rows, variables=scale * one.variables, start=scale * one.start
        )
        for one in duals.arcs
    )
    told = Duals(
        arcs=arcs,
        durations={pair: scale * one for pair, one in duals.durations.items() if pair in kept},
        conditions=np.concatenate((scale * duals.conditions, np.zeros(more))),
        instants=np.where(same.all(axis=0), scale * duals.instants, 0.0),
        free=np.concatenate((scale * duals.free, np.zeros(len(values)))),
    )
    free = np.concatenate((found.free, values))
    return replace(found, problem=problem, outcome=Outcome.STOPPED, free=free, duals=told)


def _worth_of_left_over(flight: DesignTranscription, found: Solution) -> float:
    """Of the aim, for each kg left over: by what the variables cost of both, on the whole."""
    aim, sizes = flight.design.aim, flight.design.scales(flight.vehicle)
    left = flight.left_over_slopes(found)
    if left is None or not left.any():
        return 1.0
    worth = np.array(aim.worth) * (-1.0 if aim.maximise else 1.0)
    return float((worth * sizes) @ (left * sizes) / ((left * sizes) @ (left * sizes)))
