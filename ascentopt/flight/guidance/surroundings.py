"""What can be known about a place on the flight: the local frame, the motion in it, the air."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from functools import lru_cache, partial

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.local_frame import SPIN, Axis, heating, local_axes
from ascentopt.flight.guidance.direction import Formula, direction_function
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats
from ascentopt.world.air import air_velocity
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude


@lru_cache(maxsize=32)
def _heating_function(body: Body) -> ca.Function:
    x = ca.SX.sym("x", 6)
    return ca.Function("heating", [x], [ca.densify(ca.cse(heating(body, x[:3], x[3:])))])


@lru_cache(maxsize=32)
def _function(body: Body) -> ca.Function:
    x, axis = ca.SX.sym("x", 6), ca.SX.sym("axis", 3)
    position, velocity = x[:3], x[3:]
    row = ca.vertcat(
        *local_axes(body, position, axis),
        air_velocity(body, position, velocity),
        altitude(body, position),
    )
    return ca.Function("local", [x, axis], [ca.cse(row)])


class Surroundings:
    """Evaluates the local frame cheaply, one place at a time; not to be shared by threads."""

    def __init__(self, body: Body) -> None:
        self.body = body
        self._frame = BufferedFunction(_function(body))
        self._heating: BufferedFunction | None = None
        self._kept: dict[Hashable, BufferedFunction] = {}

    def at(self, state: np.ndarray, axis: Axis = SPIN) -> list[float]:
        """Up (3), east (3), north (3), air-relative velocity (3) and altitude at a state.

        East is about `axis`.
        """
        self._frame.given[0][:] = state[:6]
        self._frame.given[1][:] = axis
        self._frame.evaluate()
        found: list[float] = self._frame.found.tolist()
        return found

    def at_all(self, states: Floats, axis: Axis = SPIN) -> Floats:
        """(k, 13) the same at (k, 7) states, in one call."""
        return np.array(_function(self.body)(states[:, :6].T, axis), dtype=float).T

    def altitude(self, state: np.ndarray) -> float:
        """Height in m above the ellipsoid."""
        return self.at(state)[12]

    def heating(self, state: np.ndarray) -> float:
        """Free-molecular heating at a state, W/m^2."""
        if self._heating is None:
            self._heating = BufferedFunction(_heating_function(self.body))
        self._heating.given[0][:] = state[:6]
        self._heating.evaluate()
        return float(self._heating.found[0])

    def direction(
        self, formula: Formula, clock: tuple[float, float], state: np.ndarray
    ) -> tuple[float, float, float]:
        """Where a formula points; `clock` is time and phase_time, s."""
        function = self.kept(formula.key, partial(direction_function, self.body, formula.key))
        function.given[0][:2] = clock
        function.given[0][2:] = state[:6]
        function.given[1][:] = formula.numbers
        function.evaluate()
        x, y, z = function.found.tolist()
        return x, y, z

    def kept(self, key: Hashable, make: Callable[[], ca.Function]) -> BufferedFunction:
        """The function with a key, made when it is first asked for, with memory of its own."""
        function = self._kept.get(key)
        if function is None:
            function = self._kept[key] = BufferedFunction(make())
        return function
