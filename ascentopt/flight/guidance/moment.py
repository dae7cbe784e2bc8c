"""What a steering law is shown at an instant of the flight."""

from __future__ import annotations

from collections.abc import Callable, Hashable
from math import cos, sin, sqrt

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.local_frame import SPIN, Axis
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.world.body import Body


class Moment:
    """Clock, state and local frame at one instant.

    The frame is worked out when it is first asked for. Vectors are arrays (3), inertial, SI.

    Attributes:
        arc: being flown.
        time, elapsed: s since lift-off, and since the arc began.
        phase, phase_elapsed: of the law: its index, and s since it began.
        state: (7,) position, velocity and mass.
    """

    __slots__ = (
        "_found",
        "_surroundings",
        "arc",
        "elapsed",
        "phase",
        "phase_elapsed",
        "state",
        "time",
    )

    def __init__(
        self,
        arc: FlightArc,
        surroundings: Surroundings,
        clock: tuple[float, float, float],
        phase: int,
        state: np.ndarray,
    ) -> None:
        """Take the `clock` as time, elapsed and phase_elapsed."""
        self.arc = arc
        self.time, self.elapsed, self.phase_elapsed = clock
        self.phase = phase
        self.state = state
        self._surroundings = surroundings
        self._found: list[float] | None = None

    @property
    def body(self) -> Body:
        """The body flown from."""
        return self._surroundings.body

    @property
    def position(self) -> np.ndarray:
        """(3,) m."""
        return self.state[:3]

    @property
    def velocity(self) -> np.ndarray:
        """(3,) m/s."""
        return self.state[3:6]

    @property
    def mass(self) -> float:
        """Kilograms aboard."""
        return float(self.state[MASS])

    @property
    def up(self) -> np.ndarray:
        """(3,) unit normal of the ellipsoid."""
        return np.array(self._local[:3])

    @property
    def east(self) -> np.ndarray:
        """(3,) unit."""
        return np.array(self._local[3:6])

    @property
    def north(self) -> np.ndarray:
        """(3,) unit."""
        return np.array(self._local[6:9])

    @property
    def air_velocity(self) -> np.ndarray:
        """(3,) m/s relative to the air."""
        return np.array(self._local[9:12])

    @property
    def air_speed(self) -> float:
        """Speed in m/s relative to the air."""
        x, y, z = self._local[9:12]
        return sqrt(x * x + y * y + z * z)

    @property
    def altitude(self) -> float:
        """Height in m above the ellipsoid."""
        return self._local[12]

    @property
    def heating(self) -> float:
        """Free-molecular heating in W/m^2; slower than the rest."""
        return self._surroundings.heating(self.state)

    def inertial(
        self, up: float, east: float, north: float, axis: Axis = SPIN
    ) -> tuple[float, float, float]:
        """Unit inertial vector (3) along components in the local frame, which must not all be 0.

        East is about `axis`, a unit inertial vector (3): the spin axis, but for paths over a pole.
        """
        a = self._local if axis == SPIN else self._surroundings.at(self.state, axis)
        scale = 1.0 / sqrt(up * up + east * east + north * north)
        up, east, north = up * scale, east * scale, north * scale
        return (
            up * a[0] + east * a[3] + north * a[6],
            up * a[1] + east * a[4] + north * a[7],
            up * a[2] + east * a[5] + north * a[8],
        )

    def direction(self, formula: Formula) -> tuple[float, float, float]:
        """Unit inertial vector (3) that a formula points along."""
        if formula.computed is not None:
            return formula.computed(self)
        clock = self.time, self.phase_elapsed
        return self._surroundings.direction(formula, clock, self.state)

    def kept(self, key: Hashable, make: Callable[[], ca.Function]) -> BufferedFunction:
        """A function with memory of its own, which later moments of the flight share."""
        return self._surroundings.kept(key, make)

    def headed(self, heading: float) -> HeadedMoment:
        """The same for a flight towards a heading in rad from north, clockwise."""
        clock = self.time, self.elapsed, self.phase_elapsed
        headed = HeadedMoment(self.arc, self._surroundings, clock, self.phase, self.state)
        headed.heading = heading
        return headed

    @property
    def _local(self) -> list[float]:
        if self._found is None:
            self._found = self._surroundings.at(self.state)
        return self._found


class HeadedMoment(Moment):
    """A moment of a flight that knows where it is to go; made by `Moment.headed`.

    Attributes:
        heading: rad from north, clockwise, towards which the flight is to tip over.
    """

    __slots__ = ("heading",)
    heading: float

    @property
    def altitude(self) -> float:
        """Height in m above the ellipsoid, zero below it; see `HeadedView`."""
        return max(super().altitude, 0.0)

    @property
    def ahead(self) -> np.ndarray:
        """(3,) unit, horizontal, towards the heading."""
        return np.array(self.inertial(0.0, sin(self.heading), cos(self.heading)))

    def leaned(self, angle: float) -> np.ndarray:
        """(3,) unit vector that leans from the vertical by an angle in rad, towards `ahead`."""
        level = sin(angle)
        east, north = level * sin(self.heading), level * cos(self.heading)
        return np.array(self.inertial(cos(angle), east, north))
