"""A solved flight told with its fairing dropped in another arc, as a start for the solver.

Where the drop presses against the end of its arc, the flight beyond is nearly the same: the solver
is near it, and a guess flown anew may lead to quite another flight, or nowhere.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import pairwise

import numpy as np

from ascentopt.collocation import ArcGuess, Guess, RadauMesh, Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import SLIVER
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.optimal.guess.first_mesh import MeshedGuess, first_mesh

LEAST_PART = 0.02
"""Share of an arc that is left on either side where it is cut in two."""


@dataclass(frozen=True, eq=False)
class _Stretch:
    """A leg of the flight as if the fairing were never dropped.

    Attributes:
        times: (k,) s; values: (k, n + m) states and controls; count: how many are states.
        mesh: of the solution, where it was a single arc.
    """

    times: Array
    values: Array
    count: int
    mesh: RadauMesh | None

    def part(self, start: float, end: float) -> ArcGuess:
        """Between two times."""
        inner = self.times[(self.times > start) & (self.times < end - SLIVER)]
        inner = inner[np.diff(inner, prepend=start) > SLIVER]
        times = np.concatenate(([start], inner, [end]))
        values = [np.interp(times, self.times, column) for column in self.values.T]
        rows, n = np.stack(values, axis=1), self.count
        span = end - start
        fractions = (times - start) / span if span > 0.0 else np.array([0.0, 1.0])
        fractions[-1] = 1.0
        return ArcGuess(fractions, rows[:, :n], rows[:, n:])


def with_drop_moved(
    flight: Solution, old: Sequence, new: Sequence, mass: float
) -> MeshedGuess | None:
    """The flight of a sequence on another one that drops the fairing, of ``mass`` kg, elsewhere.

    None where a leg has no length, so that nothing can be cut off it.
    """
    gone, goes = old.index_of_drop or 0, new.index_of_drop or 0
    legs = [_stretch(flight, pieces, k0, gone, mass) for k0, pieces in _legs(old)]
    before = _leg_of_the_drop(new) < _leg_of_the_drop(old)
    share = 1.0 - LEAST_PART if before else LEAST_PART
    arcs: list[ArcGuess] = []
    meshes: list[RadauMesh] = []
    ends = [float(legs[0].times[0])]
    for leg, (first, pieces) in zip(legs, _legs(new), strict=True):
        start, end = float(leg.times[0]), float(leg.times[-1])
        edges = [start, start + share * (end - start), end] if len(pieces) == 2 else [start, end]
        if len(pieces) == 2 and end - start < SLIVER:
            return None
        for k, (a, b) in enumerate(pairwise(edges)):
            lost = mass if first + k > goes else 0.0
            arcs.append(_lightened(leg.part(a, b), lost))
            whole = leg.mesh if len(pieces) == 1 else None
            meshes.append(whole or first_mesh(pieces[k], b - a))
            ends.append(b)
    free = flight.as_guess().free
    return MeshedGuess(tuple(meshes), Guess(np.array(ends), tuple(arcs), free, near=True))


def _legs(sequence: Sequence) -> list[tuple[int, tuple[FlightArc, ...]]]:
    """Index of the first arc, and the one or two arcs, of every leg."""
    arcs = sequence.arcs
    found: list[tuple[int, tuple[FlightArc, ...]]] = []
    for k, arc in enumerate(arcs):
        if k and arcs[k - 1].joint.fairing and arc.name == f"{arcs[k - 1].name}, bare":
            found[-1] = (k - 1, (arcs[k - 1], arc))
        else:
            found.append((k, (arc,)))
    return found


def _leg_of_the_drop(sequence: Sequence) -> int:
    gone = sequence.index_of_drop or 0
    return max(leg for leg, (first, _) in enumerate(_legs(sequence)) if first <= gone)


def _stretch(
    flight: Solution, pieces: tuple[FlightArc, ...], first: int, gone: int, mass: float
) -> _Stretch:
    guess = flight.as_guess()
    times: list[Array] = []
    values: list[Array] = []
    for k in range(first, first + len(pieces)):
        start, end = guess.instants[k], guess.instants[k + 1]
        own = _lightened(guess.arcs[k], -mass if k > gone else 0.0)
        if len(pieces) == 1 or end - start > SLIVER:
            times.append(start + own.fractions * (end - start))
            values.append(np.hstack((own.states, own.controls)))
    merged = np.concatenate(times)
    kept = np.concatenate(([True], np.diff(merged) > 0.0)) | (len(times) == 1)
    mesh = flight.arcs[first].arc.mesh if len(pieces) == 1 else None
    count = guess.arcs[first].states.shape[1]
    return _Stretch(merged[kept], np.vstack(values)[kept], count, mesh)


def _lightened(guess: ArcGuess, mass: float) -> ArcGuess:
    states = guess.states.copy()
    states[:, MASS] -= mass
    return replace(guess, states=states)
