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

import numpy as np

from ascentopt.collocation import ArcGuess, Guess, Solution
from ascentopt.collocation.refinement import path_drift
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.kind import Guidance
from ascentopt.flight.model import MASS
from ascentopt.flight.plan import TURN_RATE
from ascentopt.flight.sequence import FlightArc
from ascentopt.mission import Mission
from ascentopt.optimal.candidate import Attempt
from ascentopt.rocket import Vehicle

HELD = 0.5
"""Of the turn rate: a start that turns faster is slowed down to this, inside of the limit."""

DRIFT = 1e-2
"""Of a squared length of one, between the nodes, that only a jump leaves on a mesh once refined."""


def jumping_arcs(attempt: Attempt) -> tuple[str, ...]:
    """Arcs in the air whose direction of thrust is a control and jumps within an interval."""
    pairs = zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    return tuple(
        arc.name
        for arc, own in pairs
        if arc.kind.guidance is Guidance.STEERED
        and not arc.kind.turning
        and arc.name in attempt.watched
        and path_drift(own).max() > DRIFT
    )


def steadied(
    attempt: Attempt, names: tuple[str, ...], vehicle: Vehicle, mission: Mission
) -> Attempt:
    """The attempt, on these arcs with a direction among the states, as a start: not yet solved."""
    turning = tuple(
        arc.name
        for arc in attempt.sequence.arcs
        if arc.name in names or arc.name in attempt.plan.turning_arcs
    )
    plan = replace(attempt.plan, turning_arcs=turning)
    return replace(attempt, plan=plan, sequence=sequence_of(vehicle, mission, plan))


def start_of(attempt: Attempt, solution: Solution) -> Guess:
    """A solution whose directions are controls as a guess for an attempt that was `steadied`."""
    guess = solution.as_guess()
    lengths = np.diff(guess.instants)
    trios = zip(attempt.sequence.arcs, guess.arcs, lengths, strict=True)
    return replace(guess, arcs=tuple(_turning(*trio) for trio in trios))


def _turning(arc: FlightArc, own: ArcGuess, length: float) -> ArcGuess:
    if not arc.kind.turning or own.states.shape[1] > MASS + 1:
        return own
    direction = own.controls[:, :3] / np.linalg.norm(own.controls[:, :3], axis=1, keepdims=True)
    turn = np.gradient(direction, own.fractions * length, axis=0)
    fast = np.linalg.norm(turn, axis=1, keepdims=True) / (HELD * TURN_RATE)
    controls = np.hstack((turn / np.maximum(fast, 1.0), own.controls[:, 3:]))
    return replace(own, states=np.hstack((own.states, direction)), controls=controls)
