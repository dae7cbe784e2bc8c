"""Where the solver starts: trajectories on any grid, and optionally multipliers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.radau import Array
from ascentopt.errors import InputError


@dataclass(frozen=True, eq=False)
class ArcGuess:
    """Trajectory of one arc in physical units, linear between the given fractions.

    Attributes:
        fractions: (k,) increasing, from 0 to 1.
        states: (k, n).
        controls: (k, m).
    """

    fractions: Array
    states: Array
    controls: Array

    def state_at(self, fractions: Array) -> Array:
        """(len(fractions), n) states."""
        return _interpolate(fractions, self.fractions, self.states)

    def control_at(self, fractions: Array) -> Array:
        """(len(fractions), m) controls."""
        return _interpolate(fractions, self.fractions, self.controls)


@dataclass(frozen=True, eq=False)
class Guess:
    """A guess of a whole problem.

    Attributes:
        instants: (arcs + 1,) times at which arcs begin and the last one ends.
        arcs: one guess each.
        free: values of the problem's free numbers.
    """

    instants: Array
    arcs: tuple[ArcGuess, ...]
    free: Array

    def __post_init__(self) -> None:
        if len(self.instants) != len(self.arcs) + 1:
            raise InputError(
                f"Guess: {len(self.instants)} instants for {len(self.arcs)} arcs. "
                "Give the beginning of each arc and the end of the last."
            )


@dataclass(frozen=True, eq=False)
class ArcDuals:
    """Multipliers of one arc as densities over its fraction, in the program's scaled units.

    Attributes:
        fractions: (N,) collocation points.
        weights: (N,) quadrature weights that turn densities into multipliers.
        rows: (N, n + c) defects and path values.
        variables: (N, n + m) bounds of states and controls.
        start: (n,) bounds of the start state (plain multipliers).
    """

    fractions: Array
    rows: Array
    variables: Array
    start: Array


@dataclass(frozen=True, eq=False)
class Duals:
    """Multipliers of a solved problem, independent of its mesh."""

    arcs: tuple[ArcDuals, ...]
    durations: dict[tuple[int, int], float]
    conditions: Array
    instants: Array
    free: Array


def _interpolate(at: Array, grid: Array, values: Array) -> Array:
    columns = [np.interp(at, grid, column) for column in values.T]
    return np.stack(columns, axis=1) if columns else np.zeros((len(at), 0))
