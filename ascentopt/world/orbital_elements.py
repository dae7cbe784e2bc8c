"""Osculating elements: the orbit that the vehicle would follow if only the centre pulled."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import atan2, cos, hypot, inf, pi, sin, sinh, sqrt, tan

import numpy as np
from numpy.typing import ArrayLike

from ascentopt.errors import InputError

# Below these an orbit counts as circular or equatorial: the direction of its periapsis or node is
# rounding error, not information.
_ROUND = 1e-11
_LEVEL = 1e-11


@dataclass(frozen=True, kw_only=True)
class OrbitalElements:
    """Classical elements of a two-body orbit.

    Args:
        gravitational_parameter: m^3/s^2.
        semi_latus_rectum: m; unlike the semi-major axis finite for a parabola too.
        eccentricity: zero for a circle; above one the orbit is open.
        inclination: rad, 0 to pi.
        ascending_node: rad from the x axis, 0 to 2 pi; zero for an equatorial orbit.
        argument_of_periapsis: rad from the node, 0 to 2 pi; zero for a circular orbit.
        true_anomaly: rad from the periapsis, 0 to 2 pi.
    """

    gravitational_parameter: float
    semi_latus_rectum: float
    eccentricity: float
    inclination: float
    ascending_node: float
    argument_of_periapsis: float
    true_anomaly: float

    @property
    def semi_major_axis(self) -> float:
        """In m; negative for a hyperbola, infinite for a parabola."""
        shape = (1.0 - self.eccentricity) * (1.0 + self.eccentricity)
        return self.semi_latus_rectum / shape if shape != 0.0 else inf

    @property
    def periapsis_radius(self) -> float:
        """Least distance from the centre, m."""
        return self.semi_latus_rectum / (1.0 + self.eccentricity)

    @property
    def apoapsis_radius(self) -> float:
        """Greatest distance from the centre, m; infinite for an open orbit."""
        if self.eccentricity >= 1.0:
            return inf
        return self.semi_latus_rectum / (1.0 - self.eccentricity)

    @property
    def period(self) -> float:
        """Seconds for a revolution; infinite for an open orbit."""
        if self.eccentricity >= 1.0:
            return inf
        return (
            2.0
            * pi
            * self.semi_major_axis
            * sqrt(self.semi_major_axis / self.gravitational_parameter)
        )

    @property
    def time_from_periapsis(self) -> float:
        """Seconds since the nearest passage of the periapsis; negative on the way down to it."""
        e, half = self.eccentricity, 0.5 * _signed(self.true_anomaly)
        rate = sqrt(self.gravitational_parameter / self.semi_latus_rectum**3)
        if e == 1.0:  # Barker's equation
            return (tan(half) + tan(half) ** 3 / 3.0) / (2.0 * rate)
        root = sqrt(abs(1.0 - e) / (1.0 + e))
        if e < 1.0:
            eccentric = 2.0 * atan2(root * sin(half), cos(half))
            mean = eccentric - e * sin(eccentric)
        else:
            hyperbolic = 2.0 * _artanh(root * tan(half))
            mean = e * sinh(hyperbolic) - hyperbolic
        return mean / (rate * sqrt(abs(1.0 - e * e)) ** 3)

    @property
    def time_to_apoapsis(self) -> float:
        """Seconds to the nearest passage of the apoapsis: negative when it is nearer behind.

        It runs from minus to plus half a period; infinite for an open orbit.
        """
        if self.eccentricity >= 1.0:
            return inf
        since = self.time_from_periapsis
        return (0.5 if since >= 0.0 else -0.5) * self.period - since

    def time_ahead(self, angle: float) -> float:
        """Seconds to the place so many rad ahead on a closed orbit, less than a revolution."""
        there = replace(self, true_anomaly=self.true_anomaly + angle)
        return (there.time_from_periapsis - self.time_from_periapsis) % self.period


def elements(
    gravitational_parameter: float, position: ArrayLike, velocity: ArrayLike
) -> OrbitalElements:
    """Elements of the orbit through `position` (3) m with `velocity` (3) m/s, both inertial.

    Angular-momentum, node and eccentricity vectors: D. A. Vallado, Fundamentals of Astrodynamics
    and Applications, 4th ed., algorithm 9 (from memory).

    Raises:
        InputError: for motion straight up or down, which lies in no plane.
    """
    mu, r, v = gravitational_parameter, np.asarray(position, float), np.asarray(velocity, float)
    momentum = np.cross(r, v)
    size = float(np.linalg.norm(momentum))
    if size == 0.0:
        raise InputError(
            f"elements: position {r.tolist()} m and velocity {v.tolist()} m/s are parallel; motion "
            "through the centre has no orbital plane. Give a velocity that has a sideways part."
        )
    to_periapsis = eccentricity_vector(mu, r, v)
    eccentricity = float(np.linalg.norm(to_periapsis))
    axis = momentum / size
    level = hypot(axis[0], axis[1]) < _LEVEL
    node = np.array([1.0, 0.0, 0.0]) if level else np.array([-axis[1], axis[0], 0.0])
    periapsis = node if eccentricity < _ROUND else to_periapsis
    return OrbitalElements(
        gravitational_parameter=mu,
        semi_latus_rectum=size * size / mu,
        eccentricity=eccentricity,
        inclination=atan2(hypot(axis[0], axis[1]), axis[2]),
        ascending_node=atan2(node[1], node[0]) % (2.0 * pi),
        argument_of_periapsis=_turn(node, periapsis, axis),
        true_anomaly=_turn(periapsis, r, axis),
    )


def circular_speed(gravitational_parameter: float, radius: float) -> float:
    """Speed in m/s on a circle at a distance from the centre in m."""
    return sqrt(gravitational_parameter / radius)


def inverse_semi_major_axis(
    gravitational_parameter: float, distance: float, speed_squared: float
) -> float:
    """1/m, by the energy of the orbit: zero for a parabola, negative for a hyperbola."""
    return 2.0 / distance - speed_squared / gravitational_parameter


def eccentricity_vector(
    gravitational_parameter: float, position: np.ndarray, velocity: np.ndarray
) -> np.ndarray:
    """(3,) towards the periapsis, as long as the eccentricity, of a state in m and m/s."""
    momentum = np.cross(position, velocity)
    outward = position / float(np.linalg.norm(position))
    return np.asarray(np.cross(velocity, momentum) / gravitational_parameter - outward)


def speed_on_orbit(gravitational_parameter: float, semi_major_axis: float, radius: float) -> float:
    """Speed in m/s at a distance from the centre in m, by the energy of the orbit."""
    return sqrt(gravitational_parameter * (2.0 / radius - 1.0 / semi_major_axis))


def apoapsis_radius(
    gravitational_parameter: float, position: ArrayLike, velocity: ArrayLike
) -> float:
    """Greatest distance from the centre in m; infinite at escape speed.

    From the energy and the angular momentum alone, so that it holds on the pad of a body that does
    not turn too, where no plane of motion exists yet.
    """
    mu = gravitational_parameter
    distance, speed_squared, along = _sizes(position, velocity)
    energy = 0.5 * speed_squared - mu / distance
    if energy >= 0.0:
        return inf
    momentum_squared = distance * distance * speed_squared - along * along
    squared = max(1.0 + 2.0 * energy * momentum_squared / mu**2, 0.0)
    return -0.5 * mu / energy * (1.0 + sqrt(squared))


def climb_left(
    gravitational_parameter: float, radius: float, position: ArrayLike, velocity: ArrayLike
) -> float:
    """Half the square (m^2/s^2) of the speed up at a radius in m; negative where it is not met."""
    mu = gravitational_parameter
    distance, speed_squared, along = _sizes(position, velocity)
    level = (distance * distance * speed_squared - along * along) / radius**2
    return 0.5 * (speed_squared - level) - mu / distance + mu / radius


def time_to_apoapsis(
    gravitational_parameter: float, position: ArrayLike, velocity: ArrayLike
) -> float:
    """Seconds to the nearest passage of the apoapsis, as `OrbitalElements` have it, but sooner.

    From Kepler's equation in e cos E = 1 - r/a and e sin E = r.v / sqrt(mu a), which need no plane.
    """
    return _apoapsis_and_period(gravitational_parameter, position, velocity)[0]


def time_to_next_apoapsis(
    gravitational_parameter: float, position: ArrayLike, velocity: ArrayLike
) -> float:
    """Seconds; negative for a quarter of a revolution after it."""
    left, period = _apoapsis_and_period(gravitational_parameter, position, velocity)
    return left + period if left < -0.25 * period else left


def _apoapsis_and_period(
    mu: float, position: ArrayLike, velocity: ArrayLike
) -> tuple[float, float]:
    """Seconds to the nearest passage of the apoapsis, and for a revolution."""
    distance, speed_squared, along = _sizes(position, velocity)
    inverse = inverse_semi_major_axis(mu, distance, speed_squared)
    if inverse <= 0.0:
        return inf, inf
    sine = along * sqrt(inverse / mu)
    mean = atan2(sine, 1.0 - distance * inverse) - sine
    rate = inverse * sqrt(mu * inverse)
    return ((pi if mean >= 0.0 else -pi) - mean) / rate, 2.0 * pi / rate


def climb_and_level(position: ArrayLike, velocity: ArrayLike) -> tuple[float, float]:
    """Speed in m/s away from the centre, and across that."""
    distance, speed_squared, along = _sizes(position, velocity)
    climb = along / distance
    return climb, sqrt(max(speed_squared - climb * climb, 0.0))


def _sizes(position: ArrayLike, velocity: ArrayLike) -> tuple[float, float, float]:
    """Distance, speed squared and r.v; in plain floats, which for three numbers are fastest."""
    x, y, z = np.asarray(position, dtype=float).tolist()
    u, v, w = np.asarray(velocity, dtype=float).tolist()
    return sqrt(x * x + y * y + z * z), u * u + v * v + w * w, x * u + y * v + z * w


def periapsis_radius(
    gravitational_parameter: float, position: ArrayLike, velocity: ArrayLike
) -> float:
    """Least distance from the centre in m, from the energy and the angular momentum alone."""
    mu, r, v = gravitational_parameter, np.asarray(position, float), np.asarray(velocity, float)
    energy = 0.5 * float(v @ v) - mu / float(np.linalg.norm(r))
    momentum = np.cross(r, v)
    latus = float(momentum @ momentum) / mu
    return latus / (1.0 + sqrt(max(1.0 + 2.0 * energy * latus / mu, 0.0)))


def _turn(start: np.ndarray, end: np.ndarray, axis: np.ndarray) -> float:
    """Angle from one vector to the other about the axis, 0 to 2 pi."""
    return float(atan2(axis @ np.cross(start, end), start @ end) % (2.0 * pi))


def _signed(angle: float) -> float:
    return angle - 2.0 * pi if angle > pi else angle


def _artanh(x: float) -> float:
    return 0.5 * float(np.log((1.0 + x) / (1.0 - x)))
