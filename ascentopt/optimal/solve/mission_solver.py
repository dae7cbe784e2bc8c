"""What is done about attempts: limits on loads, neighbours, finer meshes, leads."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import Solution
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.violations import limits_if_imposed
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.refine import is_fine_enough, on_finer_meshes
from ascentopt.optimal.solve.relaxed_tank import can_relax_tank, relaxed_vehicle, remaining_delta_v
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.solve.turn_rate import (
    fixed_thrust,
    jumping_arcs,
    spliced,
    with_turn_rate,
    would_jump,
)
from ascentopt.optimal.solve.unlimited_mission_solver import UnlimitedMissionSolver
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.warm_start.thrust_direction import guess_on_sequence
from ascentopt.units import deg

RELAXED_TANK = "with a tank that may be overdrawn"

NEARLY_EMPTY_WITHIN_LIMITS = 250.0
"""m/s left in a tank whose end steps towards the limits may die of. Of 17 flights that they did not
bring there a tank that may be overdrawn did one, with 70 m/s left, and none with 280 or more."""

NEARLY_EMPTY_ON_FINER_MESH = 10.0
"""m/s left in a tank that a finer mesh may find empty: first meshes are wrong by up to 0.1 % of the
final mass."""


@dataclass(frozen=True, kw_only=True)
class MissionSolver(UnlimitedMissionSolver):
    """A vehicle and a mission, solved for any structure: limits, neighbours, finer meshes."""

    @property
    def with_relaxed_tank(self) -> MissionSolver:
        """The same task with a tank that may be overdrawn."""
        return replace(self, vehicle=relaxed_vehicle(self.vehicle))

    def solve_from_neighbour(self, attempt: Attempt) -> Attempt:
        """Solve from the solution for another vehicle or mission, with its plan and meshes.

        The limits hold on the arcs where they did; `impose_limits` looks for further ones. Where
        that leads nowhere a tank that may be overdrawn is tried: it may be too small on the way.
        """
        solver = self.resume_neighbour(attempt, ())
        found = solver.solve_with_multipliers_of(attempt)
        if found is None and can_relax_tank(self.vehicle) and not attempt.plan.unlit:
            relaxed = self.with_relaxed_tank.resume_neighbour(
                attempt, (*solver.history, RELAXED_TANK)
            )
            overdrawn = relaxed.solve_with_multipliers_of(attempt, all_iterations=True)
            found = None if overdrawn is None else self._with_own_tank(overdrawn)
            solver = self.resume_neighbour(attempt, relaxed.history)
        if found is not None:
            return found
        return solver.solve_from_guess(
            self.mission.limits, attempt.limited_arcs, attempt.found.as_guess()
        )

    def resume_neighbour(self, attempt: Attempt, history: tuple[str, ...]) -> StructureSolver:
        """The steps of this vehicle and mission where another's attempt stands."""
        sequence = sequence_of(self.vehicle, self.mission, attempt.plan)
        return StructureSolver.resumed(self, replace(attempt, sequence=sequence, history=history))

    def solve_from_other_vehicle(self, attempt: Attempt, start: Solution) -> Attempt:
        """The structure of an attempt that fell short, from a flight of another vehicle's."""
        sequence = sequence_of(self.vehicle, self.mission, attempt.plan)
        begun = replace(attempt, sequence=sequence, solution=start, history=())
        solver = StructureSolver.resumed(self, begun)
        return solver.solve_from_guess(
            limits_if_imposed(attempt.limited_arcs, self.mission.limits),
            attempt.limited_arcs,
            start.as_guess(),
        )

    def impose_limits(self, attempt: Attempt) -> Attempt:
        """Impose the limits on loads on an attempt that was solved without them.

        At once where the solver can follow; else with a tank that may be overdrawn where it is
        nearly empty, since there no step is small enough; else the limits are eased, as little as
        can be. Where that is not solved either, an overdrawn tank is the last resort.
        """
        found = self.impose_limits_directly(attempt)
        return found if found.keeps_limits else self.impose_limits_by_relaxation(found)

    def impose_limits_directly(self, attempt: Attempt) -> Attempt:
        """Impose the limits where the solver can follow at once; else only say that it tried."""
        solver = LimitedSolver.resumed(self, attempt)
        return solver.impose_limits_directly(attempt) or replace(
            attempt, history=solver.structure.history
        )

    def impose_limits_by_relaxation(self, attempt: Attempt) -> Attempt:
        """As `impose_limits`, where the solver could not follow at once."""
        low = (
            remaining_delta_v(self.vehicle, attempt.sequence, attempt.final_mass)
            < NEARLY_EMPTY_WITHIN_LIMITS
        )
        relaxed = self.solve_with_relaxed_tank(attempt, attempt) if low else attempt
        if relaxed is not attempt:
            return relaxed
        steady = self._impose_limits_with_turn_rate(attempt)
        if steady.keeps_limits or steady.least_violation is not None:
            return steady
        attempt = replace(attempt, history=steady.history)
        eased = LimitedSolver.resumed(self, attempt).impose_limits_elastically(attempt)
        if low or eased.reached or eased.least_violation is not None:
            return eased
        attempt = replace(attempt, history=eased.history)
        relaxed = self.solve_with_relaxed_tank(attempt, attempt)
        return relaxed if relaxed.reached and relaxed.keeps_limits else eased

    def _impose_limits_with_turn_rate(self, attempt: Attempt) -> Attempt:
        """By relaxation, with a direction that takes its time where the thrust is what it is.

        Limits press a direction there until it jumps, which no mesh follows. One that takes its
        time is led within them soonest, and let go after it where it would not jump. The attempt
        stands where every arc can throttle.
        """
        names = self.overloaded_fixed_thrust_arcs(attempt)
        if not names:
            return attempt
        begun = self._with_turn_rate(attempt, names)
        steady = LimitedSolver.resumed(self, begun).impose_limits_elastically(begun)
        if not steady.keeps_limits or would_jump(steady, names):
            return steady
        loose = replace(steady, plan=attempt.plan, sequence=attempt.sequence)
        solver = LimitedSolver.resumed(self, loose)
        solver.structure.ladder.note("it would not jump, and turns as it likes")
        free = solver.solve_within_limits(loose, guess_on_sequence(loose.sequence, steady.found))
        return free if free.keeps_limits else replace(steady, history=free.history)

    def overloaded_fixed_thrust_arcs(self, attempt: Attempt) -> tuple[str, ...]:
        """Arcs that break a limit on loads and cannot throttle."""
        broken = LimitedSolver.resumed(self, attempt).overloaded_arcs(attempt.found)
        return fixed_thrust(attempt.sequence, broken)

    def impose_limits_by_splicing(self, attempt: Attempt, other: Attempt, arcs: int) -> Attempt:
        """The attempt from another one within the limits, with which it shares so many arcs.

        Not limited where that leads nowhere.
        """
        begun = replace(
            self._with_turn_rate(attempt, other.plan.turning_arcs), limited_arcs=other.limited_arcs
        )
        start = spliced(
            other.found.as_guess(), guess_on_sequence(begun.sequence, attempt.found), arcs
        )
        solver = LimitedSolver.resumed(self, begun)
        solver.structure.ladder.note(f"begun as {other.plan} within the limits")
        found = solver.solve_within_limits(begun, start)
        return found if found.keeps_limits else replace(attempt, history=found.history)

    def _with_turn_rate(self, attempt: Attempt, names: tuple[str, ...]) -> Attempt:
        line = f"the direction jumps: it turns by {MAX_TURN_RATE / deg:g} deg/s at most"
        told = replace(attempt, history=(*attempt.history, *((line,) if names else ())))
        return with_turn_rate(told, names, self.vehicle, self.mission)

    def solve_with_relaxed_tank(self, attempt: Attempt, flight: Attempt | None) -> Attempt:
        """What a flight says to an attempt, its tank overdrawn until the limits hold.

        Args:
            attempt: falls short, or breaks limits; it stands where the limits do not come to hold.
            flight: the same burns and coasts, its own tank or a relaxed one; None for no news.
        """
        if flight is None or not can_relax_tank(self.vehicle):
            return attempt
        relaxed = self.with_relaxed_tank
        sequence = sequence_of(relaxed.vehicle, self.mission, flight.plan)
        lines = (*attempt.history, RELAXED_TANK, *(() if flight is attempt else flight.history))
        begun = replace(flight, sequence=sequence, history=lines)
        found = LimitedSolver.resumed(relaxed, begun).impose_limits_directly(begun)
        if found is None:
            return attempt
        own = self._with_own_tank(found)
        return (
            replace(attempt, history=own.history)
            if _own_shortfall_is_smaller(attempt, own)
            else own
        )

    def _with_own_tank(self, relaxed: Attempt) -> Attempt:
        """With the tank as it is, from a flight within the limits with a relaxed tank."""
        sequence = sequence_of(self.vehicle, self.mission, relaxed.plan)
        own = replace(relaxed, sequence=sequence, keeps_limits=False)
        left = remaining_delta_v(self.vehicle, sequence, relaxed.final_mass)
        solver = StructureSolver.resumed(self, own)
        if left >= 0.0:
            found = solver.solve_again(own)
            return self._with_limits_imposed_again(found) if found.reached else found
        solver.ladder.note(f"reaches the orbit with its tank overdrawn, {in_words(-left)} short")
        found = solver.solve_from_guess(self.mission.limits, own.limited_arcs, own.found.as_guess())
        if found.reached:
            return self._with_limits_imposed_again(found)
        overdrawn = own.found if found.nearest_flight is None else None
        short = min(-left, found.shortfall or np.inf)
        return replace(
            found, shortfall=short, shortfall_keeps_limits=True, overdrawn_flight=overdrawn
        )

    def shortfall_within_limits(self, attempt: Attempt) -> Attempt:
        """What falls short without limits on loads, within them; it stands where that is unsolved.

        A flight that keeps them anyhow needs no solve.
        """
        nearest = attempt.nearest_flight
        if nearest is None or attempt.shortfall_keeps_limits:
            return attempt
        solver = LimitedSolver.resumed(self, replace(attempt, solution=nearest))
        broken = solver.overloaded_arcs(nearest)
        if not broken - attempt.limited_arcs:
            return replace(attempt, shortfall_keeps_limits=True)
        solver.structure.ladder.note("the nearest flight, within the limits")
        limited_arcs = broken | attempt.limited_arcs
        found = solver.structure.solve_from_guess(
            self.mission.limits, limited_arcs, nearest.as_guess()
        )
        if found.shortfall is None:
            found = solver.shortfall_by_elastic_limits(nearest, limited_arcs)
        if found.shortfall is None:
            return replace(
                attempt,
                history=found.history,
                least_violation_anywhere=found.least_violation_anywhere,
            )
        return (
            self._with_limits_imposed_again(found)
            if found.reached
            else replace(found, shortfall_keeps_limits=True)
        )

    def _with_limits_imposed_again(self, attempt: Attempt) -> Attempt:
        return LimitedSolver.resumed(self, attempt).impose_limits_directly(attempt) or attempt

    def impose_limits_without_steps(self, attempt: Attempt) -> Attempt:
        """As `impose_limits`, in one step: quicker, and refused sooner."""
        return LimitedSolver.resumed(self, attempt).impose_limits_without_steps(attempt)

    def refine_mesh(self, attempt: Attempt) -> Attempt:
        """Refine the mesh of an attempt that reached the orbit, as far as that goes.

        Where it does not go to the tolerance, the last mesh that was solved stands, unrefined.
        A finer mesh may find a tank empty that seemed to hold enough: where little is left it is
        refined with a tank that may be overdrawn, and falls short if it comes to that.
        """
        done = self.refine_mesh_or_limit_turns(attempt)
        left = remaining_delta_v(self.vehicle, attempt.sequence, attempt.final_mass)
        if (
            done.refined
            or left > NEARLY_EMPTY_ON_FINER_MESH
            or attempt.plan.unlit
            or not can_relax_tank(self.vehicle)
        ):
            return done
        solver = self.with_relaxed_tank.resume_neighbour(attempt, (*done.history, RELAXED_TANK))
        relaxed = solver.solve_with_multipliers_of(attempt)
        fine = (
            None if relaxed is None else self.with_relaxed_tank.refine_mesh_or_limit_turns(relaxed)
        )
        if fine is None or not fine.refined:
            return replace(done, history=solver.history if fine is None else fine.history)
        own = self._with_own_tank(fine)
        return (
            replace(own, refined=is_fine_enough(own.found, self.refinement)) if own.reached else own
        )

    def refine_mesh_or_limit_turns(self, attempt: Attempt) -> Attempt:
        """As `refine_mesh`, with the tank as it is.

        Where a mesh is not refined since the direction of thrust jumps, that is given a turn rate.
        """
        done = on_finer_meshes(self, attempt)
        names = () if done.refined else jumping_arcs(done)
        if not names:
            return done
        begun = self._with_turn_rate(replace(attempt, history=done.history), names)
        start = guess_on_sequence(begun.sequence, attempt.found)
        steady = LimitedSolver.resumed(self, begun).solve_within_limits(begun, start)
        if steady.reached and steady.keeps_limits:
            steady = on_finer_meshes(self, steady)
        return steady if steady.refined else replace(done, history=steady.history)


def _own_shortfall_is_smaller(attempt: Attempt, own: Attempt) -> bool:
    """Whether an attempt's own shortfall stands beside one within limits, and is the smaller."""
    if attempt.shortfall is None or own.shortfall is None or own.reached:
        return False
    within = bool(attempt.limited_arcs) or not own.limited_arcs
    return within and attempt.shortfall < own.shortfall
