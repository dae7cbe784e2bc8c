"""Where the best direction of thrust jumps: the same flight with a direction that takes its time.

A vehicle that cannot throttle and comes near its limit on dynamic pressure has more thrust than it
wants: the primer vector shrinks to nothing and comes back pointing against the motion. Thrust that
does harm is best at the edge of the cone that the limit on the angle of attack allows, on no side
rather than another, and the optimum jumps from the middle of the cone to its edge and from side to
side of it, the oftener the finer the mesh. There is no best flight then, only ever better ones, by
a gram. With a turn rate that is limited there is one, and a vehicle can fly it.
"""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.collocation import ArcSolution, Guess, Point
from ascentopt.collocation.refinement.refinement import path_drift
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.phase_model import forces_at
from ascentopt.optimal.task import Task
from ascentopt.units import deg

PRIMER_AGAINST_MOTION = 160 * deg
"""Between primer vector and motion, from which on the side towards which the thrust leans is left
to chance: 165 to 180 degrees in flights that jump, to 150 in those that no mesh finds hard."""

JUMP_DRIFT = 1e-2
"""Of a squared length of one, between the nodes, that only a jump leaves on a mesh once refined."""


def jumping_arcs(attempt: Attempt) -> tuple[str, ...]:
    """Arcs in the air whose direction of thrust is a control and jumps within an interval."""
    pairs = zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    return tuple(
        arc.name
        for arc, own in pairs
        if arc.kind.guidance is Guidance.STEERED
        and not arc.kind.direction_is_state
        and arc.name in attempt.limited_arcs
        and path_drift(own).max() > JUMP_DRIFT
    )


def fixed_thrust(sequence: Sequence, names: frozenset[str]) -> tuple[str, ...]:
    """Arcs of these names that are steered, cannot throttle, and may turn at any rate."""
    return tuple(
        arc.name
        for arc in sequence.arcs
        if arc.name in names
        and arc.kind.guidance is Guidance.STEERED
        and not arc.kind.throttled
        and not arc.kind.direction_is_state
    )


def would_jump(attempt: Attempt, names: tuple[str, ...]) -> bool:
    """Whether, on one of these arcs, thrust does harm and no side of the motion is the better one.

    Told by the primer vector of an attempt that was `with_turn_rate`: against the motion.
    """
    pairs = zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    return any(
        _most_against(arc.kind, own) > PRIMER_AGAINST_MOTION
        for arc, own in pairs
        if arc.name in names
    )


def _most_against(kind: ArcKind, own: ArcSolution) -> float:
    """Greatest angle in rad between the primer vector and the motion through the air."""
    points, primer = own.arc.mesh.fractions(), -own.costates[1:, 3:6]
    wind = _air_velocity(kind)
    numbers = np.repeat(np.array([own.arc.parameters]).T, len(points), axis=1)
    times = (own.times[0] + points * own.duration).reshape(1, -1)
    motion = np.array(wind(times, own.states[1:, : MASS + 1].T, numbers)).T
    sizes = np.linalg.norm(primer, axis=1) * np.linalg.norm(motion, axis=1)
    return float(np.arccos(np.clip((primer * motion).sum(axis=1) / sizes, -1.0, 1.0)).max())


@lru_cache(maxsize=64)
def _air_velocity(kind: ArcKind) -> ca.Function:
    time, state = ca.SX.sym("time"), ca.SX.sym("state", MASS + 1)
    numbers = ca.SX.sym("numbers", len(kind.numbers))
    plain = replace(kind, direction_is_state=False)
    controls = ca.SX.zeros(3 + kind.throttled)
    now = forces_at(plain, Point(time, time, state, controls, numbers))
    return ca.Function("air_velocity", [time, state, numbers], [now.air_velocity])


def spliced(first: Guess, second: Guess, arcs: int) -> Guess:
    """So many arcs of one guess, and after them those of another; what they miss stays missing."""
    later = first.instants[arcs] - second.instants[arcs]
    instants = np.concatenate((first.instants[:arcs], second.instants[arcs:] + later))
    return replace(second, instants=instants, arcs=first.arcs[:arcs] + second.arcs[arcs:])


def with_turn_rate(task: Task, attempt: Attempt, names: tuple[str, ...]) -> Attempt:
    """The attempt, on these arcs with a direction among the states, as a start: not yet solved."""
    turning = tuple(
        arc.name
        for arc in attempt.sequence.arcs
        if arc.name in names or arc.name in attempt.plan.turning_arcs
    )
    plan = replace(attempt.plan, turning_arcs=turning)
    line = f"the direction jumps: it turns by {MAX_TURN_RATE / deg:g} deg/s at most"
    lines = (*attempt.history, *((line,) if names else ()))
    sequence = task.arcs_of(plan)
    return replace(attempt, plan=plan, sequence=sequence, history=lines)
