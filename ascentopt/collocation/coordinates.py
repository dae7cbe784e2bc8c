"""Other numbers than the states, in which an arc is solved."""

from __future__ import annotations

from functools import lru_cache
from typing import Protocol

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.typing import Expr


class Coordinates(Protocol):
    """As many numbers as there are states, one to one with them; hashable by value.

    A curved valley of the program may be straight in them: the elements of an orbit do not change
    along a coast. Everything else sees states.
    """

    def __hash__(self) -> int:
        """Programs are kept under the coordinates in which they are written."""

    @property
    def names(self) -> tuple[tuple[str, str], ...]:
        """Name and unit of each of the coordinates that replace the first states."""

    @property
    def angles(self) -> tuple[int, ...]:
        """Places of those that are known but for whole turns."""

    def of(self, state: Expr) -> Expr:
        """(n,) coordinates of a state."""

    def state(self, values: Expr) -> Expr:
        """(n,) state of the coordinates."""

    def scales(self, scales: Array) -> Array:
        """(n,) sizes of the coordinates, from those of the states."""

    def lowest(self, scales: Array) -> Array:
        """(k,) least values of the coordinates that replace the first states."""


@lru_cache(maxsize=16)
def _maps(coordinates: Coordinates, size: int) -> tuple[ca.Function, ca.Function, ca.Function]:
    """State to coordinates, back, and the first's transposed Jacobian times a vector."""
    x, v = ca.SX.sym("state", size), ca.SX.sym("vector", size)
    values = coordinates.of(x)
    return (
        ca.Function("coordinates", [x], [values]),
        ca.Function("state", [x], [coordinates.state(x)]),
        ca.Function("costates", [x, v], [ca.jtimes(values, x, v, True)]),
    )


def coordinates_of(coordinates: Coordinates, states: Array, near: Array | None = None) -> Array:
    """(k, n) coordinates of (k, n) states, turns counted on from those of ``near`` (n,)."""
    found = _columns(_maps(coordinates, states.shape[1])[0], states)
    for place in coordinates.angles:
        found[:, place] = np.unwrap(found[:, place])
        if near is not None:
            turns = np.round((near[place] - found[0, place]) / (2.0 * np.pi))
            found[:, place] += 2.0 * np.pi * turns
    return found


def states_of(coordinates: Coordinates, values: Array) -> Array:
    """(k, n) states of (k, n) coordinates."""
    return _columns(_maps(coordinates, values.shape[1])[1], values)


def costates_of(coordinates: Coordinates, at: Array, costates: Array) -> Array:
    """(k, n) costates of (k, n) states from those of the coordinates."""
    return _columns(_maps(coordinates, at.shape[1])[2], at, costates)


def _columns(function: ca.Function, *rows: Array) -> Array:
    columns = function(*(row.T for row in rows))
    return np.array(columns, dtype=float).reshape(rows[0].shape[1], -1).T
