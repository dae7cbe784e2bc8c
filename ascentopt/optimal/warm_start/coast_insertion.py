"""A coast put into a flight that falls short: a start for structures that pause.

The flight is solved already and a coast changes little of it, so the solver is near: 10 to 40
iterations, where a guess flown anew takes twice as many or strays.
"""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import ArcGuess, ArcSolution, Guess, RadauMesh, Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.guess.flown_arcs import arc_guess, fly_at_pitch
from ascentopt.optimal.problem.switching_function import coasting_cost
from ascentopt.world.gravity import surface_time_scale

SHORT, LONG = 0.1, 0.5
"""Coasts to begin with, in units of sqrt(R^3/mu), 80 and 400 s on the Earth: the short one grows by
itself where the costates say that a coast pays at once; where they do not, only a long one may."""

BRIEF = 0.01
"""The same of a coast that pays from its first second, 8 s on the Earth: what pays grows in the
solver's hands."""

EDGE = 0.05
"""Share of a burn that is kept on either side of the pause."""

PIECES = 12

MESH = RadauMesh.uniform(intervals=2, degree=5)
"""Of the coast, and of the burn after a pause."""


def with_coast_inserted(
    flight: Solution, sequence: Sequence, planned: Sequence
) -> MeshedGuess | None:
    """The flight of a sequence with the coast that ``planned`` has besides, before or in its end.

    None where the two differ otherwise.
    """
    if len(planned.arcs) == len(sequence.arcs) + 2:
        return _within_the_last_burn(flight, sequence, planned)
    return with_coast_before_stage(flight, sequence, planned, sequence.arcs[-1].stage)


def with_coast_before_stage(
    flight: Solution, sequence: Sequence, planned: Sequence, stage: int, paces: float = SHORT
) -> MeshedGuess | None:
    """The flight with the free coast that ``planned`` has besides before a stage is lit.

    None where the two differ otherwise.
    """
    coast, burn = first_arc_and_first_burn(sequence, stage)
    if len(planned.arcs) != len(sequence.arcs) + 1 - (burn - coast):
        return None
    return _with_coast_at(flight, planned, (coast, burn), paces)


def first_arc_and_first_burn(sequence: Sequence, stage: int) -> tuple[int, int]:
    """Index of the first arc of a stage, and of its first burn."""
    own = [k for k, arc in enumerate(sequence.arcs) if arc.stage == stage]
    return own[0], next(k for k in own if sequence.arcs[k].burning)


def _within_the_last_burn(
    flight: Solution, sequence: Sequence, planned: Sequence
) -> MeshedGuess | None:
    last, own = sequence.arcs[-1], flight.arcs[-1]
    if last.kind.guidance is not Guidance.STEERED or own.duration <= 0.0:
        return None
    share, pays = _best_pause(last, own)
    guess = flight.as_guess()
    times = guess.instants  # which the solver's tolerance leaves in order, unlike the flight's
    before = part(own, 0.0, share, own.arc.mesh)
    after = part(own, share, 1.0, MESH)
    at = times[-2] + share * (times[-1] - times[-2])
    coast, length = coast_from(planned.arcs[-2], before.states[-1], at, SHORT if pays else LONG)
    instants = np.concatenate((times[:-1], [at, at + length, times[-1] + length]))
    arcs = (*guess.arcs[:-1], before, coast, after)
    meshes = (*(arc.arc.mesh for arc in flight.arcs), MESH, MESH)
    return MeshedGuess(meshes, Guess(instants, arcs, guess.free, near=True))


def _with_coast_at(
    flight: Solution, planned: Sequence, places: tuple[int, int], paces: float
) -> MeshedGuess:
    """With a coast, the first of the ``places``, before what was the arc at the second."""
    coast, burn = places
    guess = flight.as_guess()
    times = guess.instants  # which the solver's tolerance leaves in order, unlike the flight's
    begins = guess.arcs[burn].states[0]
    drift, length = coast_from(planned.arcs[coast], begins, float(times[coast]), paces)
    later = times[burn:] - times[burn] + times[coast] + length
    arcs = (*guess.arcs[:coast], drift, *guess.arcs[burn:])
    meshes = [arc.arc.mesh for arc in flight.arcs]
    return MeshedGuess(
        (*meshes[:coast], MESH, *meshes[burn:]),
        Guess(np.concatenate((times[: coast + 1], later)), arcs, guess.free, near=True),
    )


def _best_pause(arc: FlightArc, own: ArcSolution) -> tuple[float, bool]:
    """Share of a burn at which a coast costs least, and whether it pays there at once."""
    costs = coasting_cost(arc, own)
    best = int(np.argmin(costs))
    share = float(np.clip(own.arc.mesh.fractions()[best], EDGE, 1.0 - EDGE))
    return share, bool(costs[best] < 0.0)


def part(own: ArcSolution, start: float, end: float, mesh: RadauMesh) -> ArcGuess:
    """The part of an arc between two fractions, where the nodes of its mesh are.

    Nothing is left to lines between places: one from a periapsis over a twelfth of a coast to far
    out leads through the planet.
    """
    fractions = np.concatenate(([0.0], mesh.fractions()))
    at = start + fractions * (end - start)
    return ArcGuess(fractions, own.state_at(at), own.control_at(at))


def coast_from(arc: FlightArc, state: Array, start: float, paces: float) -> tuple[ArcGuess, float]:
    """A coast from a state, and its length in s."""
    length = paces * surface_time_scale(arc.kind.body)
    return arc_guess(fly_at_pitch(arc, state, start, length, PIECES)), length
