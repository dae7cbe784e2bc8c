"""Where the solver starts: trajectories on any grid, and optionally multipliers."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.collocation.mesh.radau import Array
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

    def __post_init__(self) -> None:
        count = len(self.fractions)
        spans = count >= 2 and self.fractions[0] == 0.0 and self.fractions[-1] == 1.0
        if not (spans and np.all(np.diff(self.fractions) > 0.0)):
            raise InputError(
                f"ArcGuess: fractions {self.fractions} must increase from 0 to 1. "
                "Give at least the two ends."
            )
        for name, values in (("states", self.states), ("controls", self.controls)):
            if np.shape(values)[:1] != (count,) or np.ndim(values) != 2:
                raise InputError(
                    f"ArcGuess: {name} has shape {np.shape(values)}; it must be ({count}, ...), "
                    "one row for each fraction. Transpose or reshape it."
                )
            check_finite(f"ArcGuess: {name}", values)

    def state_at(self, fractions: Array) -> Array:
        """(len(fractions), n) states."""
        return interpolate(fractions, self.fractions, self.states)

    def control_at(self, fractions: Array) -> Array:
        """(len(fractions), m) controls."""
        return interpolate(fractions, self.fractions, self.controls)


@dataclass(frozen=True, eq=False)
class Guess:
    """A guess of a whole problem.

    Attributes:
        instants: (arcs + 1,) times at which arcs begin and the last one ends.
        arcs: one guess each.
        free: values of the problem's free numbers.
        near: whether the constraints are nearly met and the objective nearly best, as in the
            solution of a problem that differs a little: the solver then stays close.
    """

    instants: Array
    arcs: tuple[ArcGuess, ...]
    free: Array
    near: bool = False

    def __post_init__(self) -> None:
        if len(self.instants) != len(self.arcs) + 1:
            raise InputError(
                f"Guess: {len(self.instants)} instants for {len(self.arcs)} arcs. "
                "Give the beginning of each arc and the end of the last."
            )
        check_finite("Guess: instants", self.instants)
        check_finite("Guess: free", self.free)
        if np.any(np.diff(self.instants) < 0.0):
            raise InputError(
                f"Guess: instants {self.instants} must not decrease. Order the arcs in time."
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


def check_finite(name: str, values: Array) -> None:
    """Refuse an array with a NaN or an infinity in it."""
    bad = np.argwhere(~np.isfinite(values))
    if len(bad):
        place = tuple(int(k) for k in bad[0])
        raise InputError(
            f"{name}[{', '.join(map(str, place))}] is {values[place]}; it must be finite. "
            "Start from numbers that the equations accept."
        )


def interpolate(at: Array, grid: Array, values: Array) -> Array:
    """(len(at), k) columns of ``values``, linear between the points of ``grid``."""
    columns = [np.interp(at, grid, column) for column in values.T]
    return np.stack(columns, axis=1) if columns else np.zeros((len(at), 0))
