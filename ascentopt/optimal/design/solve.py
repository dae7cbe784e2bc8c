"""From a flight of a vehicle as it is to the one of the best vehicle of its design, and back."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import (
    Duals,
    Envelope,
    Guess,
    NotConverged,
    Outcome,
    Problem,
    Solution,
    SolverSettings,
)
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.transcription import DesignTranscription
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.transcription import TARGET_CORRECTION
from ascentopt.optimal.solve.ladder import MOVE_BARRIER
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.task import WARM_ITERATIONS, Task
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats

NOTHING = 1e-6
"""Of the aim for a kilogram left over that is none: the solver's barrier leaves less."""

TINY = 1e-30
"""In place of nothing, as a divisor."""


@dataclass(frozen=True, eq=False)
class Designed:
    """The best vehicle of a design for the burns and coasts of a flight, with its flight.

    Attributes:
        flight: as it was written, with the vehicle that it began with.
        vehicle: with the numbers found.
        attempt: its flight; the solution is the design program's.
    """

    flight: DesignTranscription
    vehicle: Vehicle
    attempt: Attempt

    @property
    def values(self) -> Floats:
        """(n,) of the variables."""
        return within_bounds(self.flight, found_values(self.attempt, self.flight.design))

    @property
    def aim(self) -> float:
        """What was asked for, in its unit, without what is left over."""
        return float(np.array(self.flight.design.aim.worth) @ self.values)

    @property
    def multipliers(self) -> dict[str, float]:
        """Of the conditions by name: change of the cost for one more of each bound, sign reversed.

        The cost is the aim, or minus the aim where that is made greatest.
        """
        found = self.attempt.found
        names = [one.name for each in found.problem.conditions for one in each.quantities]
        return dict(zip(names, map(float, found.condition_multipliers), strict=True))

    @property
    def worth_of_left_over(self) -> float:
        """Of the aim and what it is worth, for each kg of mass at the last free cut-off."""
        held = abs(self.multipliers.get(self.flight.holder, 0.0))
        return held + self.flight.design.aim.left_over

    @property
    def payload_for_left_over(self) -> float:
        """Kg of payload for each kg that need not be left in the tank, or as ballast.

        Where the payload alone is free and made greatest. The tank's multiplier is that of the
        payload and of what all of the mass in the orbit is worth beside it.
        """
        beside = self.flight.design.aim.left_over
        held = self.worth_of_left_over - beside > NOTHING
        return self.worth_of_left_over / (1.0 + beside) if held else 0.0

    def gain(self, changed: Case) -> float | None:
        """To first order, of the aim and what is left over, where vehicle and mission change.

        None where that makes other arcs.
        """
        found, plan = self.attempt.found, self.attempt.plan
        own = replace(
            self.flight,
            vehicle=changed.vehicle,
            mission=changed.mission,
            sequence=sequence_of(changed.vehicle, changed.mission, plan),
            meshes=tuple(one.mesh for one in found.problem.arcs),
            limited_arcs=self.attempt.limited_arcs,
        )
        if own.sequence.names != self.flight.sequence.names:
            return None
        problem = own.greatest_mass_problem()
        lead = len(TARGET_CORRECTION)
        values = (*found.problem.parameter_values[:lead], *problem.parameter_values[lead:])
        return Envelope.of(found).change(replace(problem, parameter_values=values))

    def with_solution_of(self, attempt: Attempt) -> Designed:
        """As another solution of the same program has it, on other meshes."""
        again = replace(self, attempt=attempt)
        return replace(again, vehicle=self.flight.vehicle_of(again.values))

    def plain(self, task: Task) -> Attempt | None:
        """The flight of a task's vehicle, near the one found, as any other is solved for."""
        begun = replace(self.attempt, solution=self._plain_start())
        solver = StructureSolver.resumed(task, begun)
        found = solver.solve_with_multipliers_of(begun)
        if found is None:
            return None
        return LimitedSolver.resumed(task, found).impose_limits_directly(found)

    def _plain_start(self) -> Solution:
        """The design program's solution as an iterate of the plain one."""
        found, problem = self.attempt.found, self.flight.plain_problem()
        duals = found.duals
        worth = self.worth_of_left_over
        scale = found.problem.objective.quantity.scale / problem.objective.quantity.scale
        scale = scale / worth if worth > 0.0 else 1.0
        told = _scaled(duals, scale, found.problem, problem)
        return replace(
            found,
            problem=problem,
            outcome=Outcome.STOPPED,
            free=found.free[: len(problem.free)],
            duals=told,
        )


@dataclass(frozen=True, eq=False)
class DesignSolver:
    """The solves of one design for one structure of the flight.

    Args:
        task: with a vehicle near the one that is looked for.
        design: what is free.
        kept: kg that are to be left beside the mission's reserve.
    """

    task: Task
    design: Design
    kept: float = 0.0

    def solved(self, attempt: Attempt) -> Designed | None:
        """From a flight of the task's vehicle, within the limits on loads; None if not solved.

        That flight may overdraw its tank.
        """
        solver = StructureSolver.resumed(self.task, attempt)
        flight = self._written(solver, attempt)
        solver = replace(solver, flight=flight)
        begun = self._first(solver, flight, attempt.found)
        if begun is None:
            return None
        kept = LimitedSolver(solver).impose_limits_directly(begun)
        return None if kept is None else self.designed(flight, kept)

    def foretold(self, attempt: Attempt) -> Floats | None:
        """(n,) values to first order from a flight of the task's vehicle, beyond their bounds too.

        None where no slope tells them. Nothing is solved.
        """
        solver = StructureSolver.resumed(self.task, attempt)
        flight = self._written(solver, attempt)
        slopes = flight.left_over_slopes(attempt.found)
        if slopes is None:
            return None
        own = self.design.values(flight.vehicle)
        return own + _spending(flight, slopes, flight.spare(attempt.found))

    def _written(self, solver: StructureSolver, attempt: Attempt) -> DesignTranscription:
        return DesignTranscription.of(
            solver.within_limits(attempt.limited_arcs), attempt.plan, self.design, self.kept
        )

    def designed(self, flight: DesignTranscription, attempt: Attempt) -> Designed:
        """The vehicle that a solution found."""
        vehicle = flight.vehicle_of(within_bounds(flight, found_values(attempt, self.design)))
        sequence = replace(self.task, vehicle=vehicle).arcs_of(attempt.plan)
        return Designed(flight, vehicle, replace(attempt, sequence=sequence))

    def _first(
        self, solver: StructureSolver, flight: DesignTranscription, found: Solution
    ) -> Attempt | None:
        problem = flight.greatest_mass_problem()
        told = f"{self.design.aim.name} by {', '.join(self.design.names)}"
        there, here = as_starts(flight, found)
        settings = self.task.settings
        brief = settings.given_up_after(WARM_ITERATIONS)
        near = replace(settings, near_barrier=MOVE_BARRIER)
        tries: list[tuple[Solution | Guess, SolverSettings]] = [(there, brief), (here, brief)]
        if not self.task.hasty:
            tries.append((here.as_guess(), near))
        for begun, settings in tries:
            try:
                solution = solver.ladder.solve_on_record(told, problem, begun, settings)
            except NotConverged:
                continue
            return solver.attempt_of(solution, flight)
        return None


def found_values(attempt: Attempt, design: Design) -> Floats:
    """(n,) of the variables, as the solver left them."""
    return attempt.found.free[-len(design.variables) :]


def within_bounds(flight: DesignTranscription, values: Floats) -> Floats:
    """(n,) values between their bounds, which the solver keeps to its tolerance."""
    pairs = zip(values, flight.design.variables, strict=True)
    return np.array([min(max(float(value), one.lower), one.upper) for value, one in pairs])


def as_starts(flight: DesignTranscription, found: Solution) -> tuple[Solution, Solution]:
    """A plain solution as two iterates of the design's program, with its multipliers.

    What costs propellant there costs the aim here, in proportion: by as much as one of a variable
    does both. The first has the variables where to first order the tank is empty, the second as
    they are: the one is as good a start as the slopes are, the other as that empty tank is near.
    """
    problem, plain = flight.greatest_mass_problem(), found.problem
    slopes, own = flight.left_over_slopes(found), flight.design.values(flight.vehicle)
    worth = 1.0 if slopes is None else _worth(flight, slopes)
    scale = plain.objective.quantity.scale / problem.objective.quantity.scale
    told = _scaled(found.duals, scale * worth, plain, problem)
    spent = own if slopes is None else own + _spending(flight, slopes, flight.spare(found))

    def start(values: Floats) -> Solution:
        free = np.concatenate((found.free, within_bounds(flight, values)))
        return replace(found, problem=problem, outcome=Outcome.STOPPED, free=free, duals=told)

    return start(spent), start(own)


def _spending(flight: DesignTranscription, slopes: Floats, spare: float) -> Floats:
    """(n,) the least change of the variables, in their sizes, that leaves nothing to spare."""
    sizes = flight.design.scales(flight.vehicle)
    scaled = slopes * sizes
    return np.asarray(-spare * sizes * scaled / max(float(scaled @ scaled), TINY))


def _worth(flight: DesignTranscription, slopes: Floats) -> float:
    """Of the aim, for each kg left over: by what the variables cost of both, on the whole."""
    aim, sizes = flight.design.aim, flight.design.scales(flight.vehicle)
    worth, scaled = (-aim.sign * np.array(aim.worth)) * sizes, -slopes * sizes
    return float(worth @ scaled) / max(float(scaled @ scaled), TINY)


def _scaled(duals: Duals, scale: float, old: Problem, new: Problem) -> Duals:
    """Multipliers of a problem for one with more or fewer conditions and free numbers at the end.

    Without those of bounds on instants that the other problem has not got.
    """
    same = (np.array(new.instants()) == np.array(old.instants())).all(axis=0)
    spans = {(one.first, one.last): one for one in old.all_spans()}
    kept = {(s.first, s.last) for s in new.all_spans() if spans[s.first, s.last] == s}
    arcs = tuple(
        replace(
            one, rows=scale * one.rows, variables=scale * one.variables, start=scale * one.start
        )
        for one in duals.arcs
    )
    conditions = sum(len(one.quantities) for one in new.conditions)
    return Duals(
        arcs=arcs,
        durations={pair: scale * one for pair, one in duals.durations.items() if pair in kept},
        conditions=_of_size(scale * duals.conditions, conditions),
        instants=np.where(same, scale * duals.instants, 0.0),
        free=_of_size(scale * duals.free, len(new.free)),
    )


def _of_size(values: Floats, size: int) -> Floats:
    """Cut at the end, or with zeros."""
    return np.concatenate((values, np.zeros(max(size - len(values), 0))))[:size]
