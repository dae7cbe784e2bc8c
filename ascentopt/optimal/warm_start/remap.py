"""A solution told on another sequence: the start of a structure that differs by little."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import ArcGuess, ArcSolution, Guess, RadauMesh, Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.optimal.guess.first_mesh import (
    MeshedGuess,
    mesh_of_part,
    mesh_outside,
    with_equal_phases,
)
from ascentopt.optimal.guess.flown_arcs import STEPS_AN_ARC, arc_guess, fly_at_pitch
from ascentopt.optimal.warm_start.thrust_direction import (
    with_direction_as_control,
    with_directions_fitted,
)
from ascentopt.world.gravity import surface_time_scale

BRIEF = 0.01
"""Length of a coast that is put in, in units of sqrt(R^3/mu), 8 s on the Earth: what pays from its
first second grows in the solver's hands."""


@dataclass(frozen=True)
class Place:
    """An instant of a flight: the share of an arc."""

    arc: int
    share: float


def unchanged(solution: Solution) -> MeshedGuess:
    """A solution as a start."""
    meshes = tuple(own.arc.mesh for own in solution.arcs)
    return MeshedGuess(meshes, replace(solution.as_guess(), near=True))


def on_sequence(sequence: Sequence, start: MeshedGuess) -> MeshedGuess:
    """The same arcs, where throttle or turn rate may have become controls or ceased to be."""
    guess = with_directions_fitted(sequence, start.guess)
    pairs = zip(sequence.arcs, guess.arcs, strict=True)
    arcs = tuple(_with_throttle(arc, own) for arc, own in pairs)
    return MeshedGuess(start.meshes, replace(guess, arcs=arcs, near=True))


def _with_throttle(arc: FlightArc, own: ArcGuess) -> ArcGuess:
    steering = 3 if arc.kind.guidance is Guidance.STEERED else 0
    controls = own.controls[:, :steering]
    if arc.kind.throttled:
        has = own.controls.shape[1] > steering
        throttle = own.controls[:, steering:] if has else np.ones((len(controls), 1))
        controls = np.hstack((controls, throttle))
    return replace(own, controls=controls)


def with_arc(
    flight: Solution, sequence: Sequence, place: Place, inserted: ArcGuess, length: float
) -> MeshedGuess:
    """The flight with an arc of ``length`` s put in at a place; what comes after is that later."""
    guess, k, own = flight.as_guess(), place.arc, flight.arcs[place.arc]
    times = guess.instants
    at = times[k] + place.share * (times[k + 1] - times[k])
    instants = np.concatenate((times[: k + 1], [at, at + length], times[k + 1 :] + length))
    starts = own.state_at(np.array([0.0, place.share, place.share]))
    lengths = np.diff(instants)[k : k + 3].tolist()
    before, within, after = (
        with_equal_phases(mesh_of_part(arc, seconds), arc, seconds, state)
        for arc, seconds, state in zip(sequence.arcs[k : k + 3], lengths, starts, strict=True)
    )
    first, last = part(own, 0.0, place.share, before), part(own, place.share, 1.0, after)
    arcs = (*guess.arcs[:k], first, inserted, last, *guess.arcs[k + 1 :])
    meshes = [arc.arc.mesh for arc in flight.arcs]
    return MeshedGuess(
        (*meshes[:k], before, within, after, *meshes[k + 1 :]),
        Guess(instants, arcs, guess.free, near=True),
    )


def with_coast_before_stage(
    flight: Solution, sequence: Sequence, planned: Sequence, stage: int
) -> MeshedGuess | None:
    """The flight with the free coast that ``planned`` has besides before a stage is lit.

    None where the two differ otherwise.
    """
    first, burn = first_arc_and_first_burn(sequence, stage)
    if len(planned.arcs) != len(sequence.arcs) + 1 - (burn - first):
        return None
    guess = flight.as_guess()
    times = guess.instants  # which the solver's tolerance leaves in order, unlike the flight's
    drift, length = coast_from(planned.arcs[first], guess.arcs[burn].states[0], float(times[first]))
    later = times[burn:] - times[burn] + times[first] + length
    meshes = [arc.arc.mesh for arc in flight.arcs]
    return MeshedGuess(
        (*meshes[:first], mesh_outside(planned.arcs[first], length), *meshes[burn:]),
        Guess(
            np.concatenate((times[: first + 1], later)),
            (*guess.arcs[:first], drift, *guess.arcs[burn:]),
            guess.free,
            near=True,
        ),
    )


def first_arc_and_first_burn(sequence: Sequence, stage: int) -> tuple[int, int]:
    """Index of the first arc of a stage, and of its first burn."""
    own = [k for k, arc in enumerate(sequence.arcs) if arc.stage == stage]
    return own[0], next(k for k in own if sequence.arcs[k].burning)


def part(own: ArcSolution, start: float, end: float, mesh: RadauMesh) -> ArcGuess:
    """The part of an arc between two fractions, where the nodes of its mesh are.

    Nothing is left to lines between places: one from a periapsis over a twelfth of a coast to far
    out leads through the planet.
    """
    fractions = np.concatenate(([0.0], mesh.fractions()))
    at = start + fractions * (end - start)
    return ArcGuess(fractions, own.state_at(at), own.control_at(at))


def coast_from(arc: FlightArc, state: Array, start: float) -> tuple[ArcGuess, float]:
    """A coast from a state, and its length in s."""
    length = BRIEF * surface_time_scale(arc.kind.body)
    return arc_guess(fly_at_pitch(arc, state, start, length, STEPS_AN_ARC)), length


def with_arcs_joined(flight: Solution, groups: tuple[tuple[int, ...], ...]) -> MeshedGuess:
    """The flight on fewer arcs: each is what a group of the old ones was, one after the other.

    Old arcs that are in no group have no length, and neither has one within a group that is of
    another kind than the longest of it.
    """
    guess = flight.as_guess()
    lengths = np.diff(guess.instants)
    longest = [max(group, key=lambda k: lengths[k]) for group in groups]
    arcs = tuple(
        _joined(guess, group, guess.arcs[most].controls.shape[1])
        for group, most in zip(groups, longest, strict=True)
    )
    ends = np.cumsum([sum(lengths[k] for k in group) for group in groups])
    instants = guess.instants[0] + np.concatenate(([0.0], ends))
    meshes = tuple(flight.arcs[most].arc.mesh for most in longest)
    return MeshedGuess(meshes, Guess(instants, arcs, guess.free, near=True))


def _joined(guess: Guess, group: tuple[int, ...], controls: int) -> ArcGuess:
    if len(group) == 1:
        return guess.arcs[group[0]]
    alike = [k for k in group if guess.arcs[k].controls.shape[1] == controls]
    pieces = [guess.arcs[k] for k in alike]
    if len({own.states.shape[1] for own in pieces}) > 1:
        pieces = [with_direction_as_control(own) for own in pieces]
    spans = [
        (guess.instants[k], guess.instants[k + 1], own)
        for k, own in zip(alike, pieces, strict=True)
    ]
    times = np.concatenate([a + own.fractions * (b - a) for a, b, own in spans])
    kept = np.concatenate(([True], np.diff(times) > 1e-6))
    times = times[kept]
    fractions = (times - times[0]) / (times[-1] - times[0])
    fractions[-1] = 1.0
    states = np.vstack([own.states for own in pieces])[kept]
    steering = np.vstack([own.controls for own in pieces])[kept]
    return ArcGuess(fractions, states, steering)


def brief_burn(arc: FlightArc, state: Array, direction: Array) -> ArcGuess:
    """A burn so short that it changes nothing, along a direction."""
    fractions = np.array([0.0, 1.0])
    controls = np.repeat(direction[None], 2, axis=0)
    states = np.repeat(state[None, : MASS + 1], 2, axis=0)
    if arc.kind.direction_is_state:
        states, controls = np.hstack((states, controls)), np.zeros((2, 3))
    if arc.kind.throttled:
        controls = np.hstack((controls, np.ones((2, 1))))
    return ArcGuess(fractions, states, controls)


def mirrored(start: MeshedGuess, normal: Array) -> MeshedGuess:
    """The flight on the other side of the plane through the pad with a unit ``normal`` (3,)."""
    flip = np.eye(3) - 2.0 * np.outer(normal, normal)
    return replace(start, guess=replace(start.guess, arcs=tuple(
        _flipped(own, flip) for own in start.guess.arcs
    )))  # fmt: skip


def _flipped(own: ArcGuess, flip: Array) -> ArcGuess:
    states, controls = own.states.copy(), own.controls.copy()
    for first in (0, 3, MASS + 1):
        if states.shape[1] >= first + 3:
            states[:, first : first + 3] = states[:, first : first + 3] @ flip
    if controls.shape[1] >= 3:
        controls[:, :3] = controls[:, :3] @ flip
    return replace(own, states=states, controls=controls)
