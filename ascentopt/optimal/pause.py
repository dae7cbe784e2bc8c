"""A coast put into a flight that falls short: a start for structures that pause.

The flight is solved already and a coast changes little of it, so the solver is near: 10 to 40
iterations, where a guess flown anew takes twice as many or strays.
"""

from __future__ import annotations

from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.collocation import ArcGuess, ArcSolution, Guess, Point, RadauMesh, Solution
from ascentopt.collocation.radau import Array
from ascentopt.flight.kind import NUMBERS, ArcKind, Guidance
from ascentopt.flight.model import MASS, forces_at
from ascentopt.flight.sequence import FlightArc, Sequence
from ascentopt.optimal.first_mesh import Meshed, pace
from ascentopt.optimal.flown import arc_guess, pitched
from ascentopt.rocket import DragCurve
from ascentopt.world import Body

SHORT, LONG = 0.1, 0.5
"""Coasts to begin with, in units of sqrt(R^3/mu), 80 and 400 s on the Earth: the short one grows by
itself where the costates say that a coast pays at once; where they do not, only a long one may."""

EDGE = 0.05
"""Share of a burn that is kept on either side of the pause."""

FALLING = 0.1
"""A coast of half a revolution lasts several times as long as a burn. Where a second of it costs
more than this share of what a second of thrust gains, the vehicle falls, and must not rest."""

OF_THE_AIR = frozenset({"reference_area", "drag_factor", "normal_force_slope"})
"""Numbers of an arc that matter without thrust."""

PIECES = 12

MESH = RadauMesh.uniform(intervals=2, degree=5)
"""Of the coast, and of the burn after a pause."""


def worth_of_thrust(arc: FlightArc, own: ArcSolution) -> Array:
    """(N,) cost of a second of full throttle at the nodes of a burn in vacuum.

    The derivative of the Hamiltonian by the throttle, thrust/m p_v.u - flow p_m in costates of
    the cost: below zero wherever a burn pays (Pontryagin). In units of the cost over s.
    """
    states, steering = own.states[1:], own.controls[:, :3]
    if arc.kind.turning:
        steering = states[:, 7:10]
    push = (own.costates[1:, 3:6] * steering).sum(axis=1) * arc.numbers[0] / states[:, MASS]
    return np.asarray(push - arc.numbers[1] * own.costates[1:, MASS])


def cannot_rest(flight: Solution, sequence: Sequence) -> float | None:
    """What a second of coast in the last burn costs at least, as a share of a second of thrust.

    None where that is little, or less than nothing.
    """
    last, own = sequence.arcs[-1], flight.arcs[-1]
    if last.kind.guidance is not Guidance.STEERED or own.duration <= 0.0:
        return None
    worth = worth_of_thrust(last, own)
    costs = own.hamiltonian() - worth
    best = int(np.argmin(costs))
    share = float(costs[best] / max(-worth[best], 1e-9 * abs(costs[best])))
    return share if costs[best] > 0.0 and share > FALLING else None


def paused(flight: Solution, sequence: Sequence, planned: Sequence) -> Meshed | None:
    """The flight of a sequence with the coast that ``planned`` has besides, before or in its end.

    None where the two differ otherwise.
    """
    if len(planned.arcs) == len(sequence.arcs) + 2:
        return _within_the_last_burn(flight, sequence, planned)
    return before_stage(flight, sequence, planned, sequence.arcs[-1].stage)


def before_stage(
    flight: Solution, sequence: Sequence, planned: Sequence, stage: int, paces: float = SHORT
) -> Meshed | None:
    """The flight with the free coast that ``planned`` has besides before a stage is lit.

    None where the two differ otherwise.
    """
    coast, burn = _ignition(sequence, stage)
    if len(planned.arcs) != len(sequence.arcs) + 1 - (burn - coast):
        return None
    return _coasting(flight, planned, (coast, burn), paces)


def cost_of_coasting(flight: Solution, sequence: Sequence, stage: int) -> float:
    """What the first second of a coast before a stage costs, or of more coast; below zero it pays.

    The Hamiltonian without thrust by the costates with which the stage begins; in units of the
    cost over s.
    """
    index = _ignition(sequence, stage)[1]
    arc, own = sequence.arcs[index], flight.arcs[index]
    numbers = [
        n if name in OF_THE_AIR else 0.0 for name, n in zip(NUMBERS, arc.numbers, strict=False)
    ]
    state, costate = own.states[0, : MASS + 1], own.costates[0, :6]
    falling = _falling(arc.kind.body, arc.kind.drag_curve)(state, numbers)
    rates = np.concatenate((state[3:6], np.array(falling, dtype=float).ravel()))
    return float(costate @ rates)


@lru_cache(maxsize=16)
def _falling(body: Body, drag_curve: DragCurve | None) -> ca.Function:
    """Acceleration without thrust from a state (7,) and the numbers of an arc."""
    kind = ArcKind(body=body, guidance=Guidance.COAST, drag_curve=drag_curve)
    state, numbers = ca.SX.sym("state", MASS + 1), ca.SX.sym("numbers", len(NUMBERS))
    now = forces_at(kind, Point(0.0, 0.0, state, ca.SX.zeros(0), numbers))
    return ca.Function("falling", [state, numbers], [now.acceleration])


def _ignition(sequence: Sequence, stage: int) -> tuple[int, int]:
    """Index of the first arc of a stage, and of its first burn."""
    own = [k for k, arc in enumerate(sequence.arcs) if arc.stage == stage]
    return own[0], next(k for k in own if sequence.arcs[k].burning)


def _within_the_last_burn(flight: Solution, sequence: Sequence, planned: Sequence) -> Meshed | None:
    last, own = sequence.arcs[-1], flight.arcs[-1]
    if last.kind.guidance is not Guidance.STEERED or own.duration <= 0.0:
        return None
    share, pays = _best_pause(last, own)
    guess = flight.as_guess()
    times = guess.instants  # which the solver's tolerance leaves in order, unlike the flight's
    before, after = part(guess.arcs[-1], 0.0, share), part(guess.arcs[-1], share, 1.0)
    at = times[-2] + share * (times[-1] - times[-2])
    coast, length = coast_from(planned.arcs[-2], before.states[-1], at, SHORT if pays else LONG)
    instants = np.concatenate((times[:-1], [at, at + length, times[-1] + length]))
    arcs = (*guess.arcs[:-1], before, coast, after)
    meshes = (*(arc.arc.mesh for arc in flight.arcs), MESH, MESH)
    return Meshed(meshes, Guess(instants, arcs, guess.free, near=True))


def _coasting(flight: Solution, planned: Sequence, places: tuple[int, int], paces: float) -> Meshed:
    """With a coast, the first of the ``places``, before what was the arc at the second."""
    coast, burn = places
    guess = flight.as_guess()
    times = guess.instants  # which the solver's tolerance leaves in order, unlike the flight's
    begins = guess.arcs[burn].states[0]
    drift, length = coast_from(planned.arcs[coast], begins, float(times[coast]), paces)
    later = times[burn:] - times[burn] + times[coast] + length
    arcs = (*guess.arcs[:coast], drift, *guess.arcs[burn:])
    meshes = [arc.arc.mesh for arc in flight.arcs]
    return Meshed(
        (*meshes[:coast], MESH, *meshes[burn:]),
        Guess(np.concatenate((times[: coast + 1], later)), arcs, guess.free, near=True),
    )


def _best_pause(arc: FlightArc, own: ArcSolution) -> tuple[float, bool]:
    """Share of a burn at which a coast costs least, and whether it pays there at once.

    A coast of a second costs the Hamiltonian without thrust.
    """
    costs = own.hamiltonian() - worth_of_thrust(arc, own)
    best = int(np.argmin(costs))
    share = float(np.clip(own.arc.mesh.fractions()[best], EDGE, 1.0 - EDGE))
    return share, bool(costs[best] < 0.0)


def part(guess: ArcGuess, start: float, end: float) -> ArcGuess:
    """The part of an arc between two fractions."""
    fractions = np.linspace(0.0, 1.0, PIECES)
    at = start + fractions * (end - start)
    return ArcGuess(fractions, guess.state_at(at), guess.control_at(at))


def coast_from(arc: FlightArc, state: Array, start: float, paces: float) -> tuple[ArcGuess, float]:
    """A coast from a state, and its length in s."""
    length = paces * pace(arc.kind.body)
    return arc_guess(pitched(arc, state, start, length, PIECES)), length
