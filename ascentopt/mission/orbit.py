"""Orbits to be reached. Altitudes count from the body's equatorial radius."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.tables import in_a_line
from ascentopt.units import deg, km
from ascentopt.validation import finite, positive, require, within
from ascentopt.world.body import Body

LEVEL = 1e-6
"""rad. An orbit less inclined is equatorial to what its insertion may miss, and has no node."""


@checked
@dataclass(frozen=True, kw_only=True)
class CircularOrbit:
    """A circle at `altitude` m.

    `inclination` rad; None = whatever costs least. `ascending_node` rad from the inertial x axis;
    None = free. Raises `InputError`.
    """

    altitude: float
    inclination: float | None = None
    ascending_node: float | None = None

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give the height above the equatorial radius in metres."
        finite("CircularOrbit", "altitude", self.altitude, "m", fix)
        _check_plane("CircularOrbit", self.inclination, self.ascending_node)

    def __str__(self) -> str:
        shape = f"circular orbit at {self.altitude / km:g} km"
        return shape + _plane_text(self.inclination, self.ascending_node)

    def semi_major_axis_around(self, body: Body) -> float:
        """Return the radius of the orbit in m."""
        return body.radius + self.altitude

    def eccentricity_around(self, body: Body) -> float:
        """Return zero."""
        return 0.0

    def periapsis_radius_around(self, body: Body) -> float:
        """Return the radius of the orbit in m."""
        return body.radius + self.altitude

    def apoapsis_radius_around(self, body: Body) -> float:
        """Return the radius of the orbit in m."""
        return body.radius + self.altitude


@checked
@dataclass(frozen=True, kw_only=True)
class EllipticalOrbit:
    """An ellipse of which any subset of the elements is fixed; None = free.

    Size and shape are given either by `semi_major_axis` (m) and `eccentricity` or by
    `periapsis_altitude` and `apoapsis_altitude` (m), or by one of these alone. Angles
    `inclination`, `ascending_node` (from the inertial x axis) and `argument_of_periapsis` in rad;
    the last counts along the motion from the node, over the equator (to 1e-6 rad) from the inertial
    x axis, and needs an orbit that is known not to be a circle. Raises `InputError`.
    """

    semi_major_axis: float | None = None
    eccentricity: float | None = None
    periapsis_altitude: float | None = None
    apoapsis_altitude: float | None = None
    inclination: float | None = None
    ascending_node: float | None = None
    argument_of_periapsis: float | None = None

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        owner = "EllipticalOrbit"
        if self.semi_major_axis is not None:
            fix = "Give it in metres from the centre of the body."
            positive(owner, "semi_major_axis", self.semi_major_axis, "m", fix)
        if self.eccentricity is not None:
            fix = "Give 0 or more and less than 1; open orbits are not targets."
            finite(owner, "eccentricity", self.eccentricity, "", fix)
            good = 0.0 <= self.eccentricity < 1.0
            require(owner, "eccentricity", self.eccentricity, "", "in [0, 1)", fix, holds=good)
        for name in ("periapsis_altitude", "apoapsis_altitude"):
            if getattr(self, name) is not None:
                fix = "Give the height above the equatorial radius in metres."
                finite(owner, name, getattr(self, name), "m", fix)
        self._check_size_and_shape(owner)
        _check_plane(owner, self.inclination, self.ascending_node)
        self._check_argument(owner)

    def _check_size_and_shape(self, owner: str) -> None:
        axis, altitudes = self._given()
        if axis and altitudes:
            raise InputError(
                f"{owner}: {' and '.join(axis + altitudes)} are given together; size and shape "
                "come either from semi_major_axis and eccentricity or from periapsis_altitude and "
                "apoapsis_altitude. Keep one of the two pairs."
            )
        if not axis and not altitudes:
            raise InputError(
                f"{owner}: neither size nor shape is given; without them any orbit would do. Give "
                "semi_major_axis and eccentricity, or periapsis_altitude and apoapsis_altitude."
            )
        if self.periapsis_altitude is not None and self.apoapsis_altitude is not None:
            fix = "Exchange the two altitudes."
            good = self.periapsis_altitude <= self.apoapsis_altitude
            rule = f"at most apoapsis_altitude ({self.apoapsis_altitude!r} m)"
            require(
                owner, "periapsis_altitude", self.periapsis_altitude, "m", rule, fix, holds=good
            )

    def _given(self) -> tuple[list[str], list[str]]:
        axis = [n for n in ("semi_major_axis", "eccentricity") if getattr(self, n) is not None]
        names = ("periapsis_altitude", "apoapsis_altitude")
        return axis, [n for n in names if getattr(self, n) is not None]

    def _check_argument(self, owner: str) -> None:
        if self.argument_of_periapsis is None:
            return
        fix = "Give radians between -2 pi and 2 pi, for instance 130.5 * deg."
        value = self.argument_of_periapsis
        within(owner, "argument_of_periapsis", value, "rad", (-2 * pi, 2 * pi), fix)
        low, high = self.periapsis_altitude, self.apoapsis_altitude
        if not self.eccentricity and (low is None or high is None or low == high):
            raise InputError(
                f"{owner}: argument_of_periapsis is {value!r} rad, but the orbit is not known to "
                "have a periapsis; its eccentricity must be given and above 0. Give the "
                "eccentricity or two different altitudes, or leave the argument out."
            )

    def __str__(self) -> str:
        parts = []
        if self.semi_major_axis is not None:
            parts.append(f"semi-major axis {self.semi_major_axis / km:g} km")
        if self.eccentricity is not None:
            parts.append(f"eccentricity {self.eccentricity:g}")
        if self.periapsis_altitude is not None:
            parts.append(f"periapsis {self.periapsis_altitude / km:g} km")
        if self.apoapsis_altitude is not None:
            parts.append(f"apoapsis {self.apoapsis_altitude / km:g} km")
        text = "elliptical orbit, " + ", ".join(parts)
        text += _plane_text(self.inclination, self.ascending_node)
        if self.argument_of_periapsis is not None:
            text += f", argument of periapsis {self.argument_of_periapsis / deg:g} deg"
        return text

    def semi_major_axis_around(self, body: Body) -> float | None:
        """Return the semi-major axis in m, or None when it is free."""
        low, high = self.periapsis_radius_around(body), self.apoapsis_radius_around(body)
        if self.semi_major_axis is not None or low is None or high is None:
            return self.semi_major_axis
        return 0.5 * (low + high)

    def eccentricity_around(self, body: Body) -> float | None:
        """Return the eccentricity, or None when it is free."""
        low, high = self.periapsis_radius_around(body), self.apoapsis_radius_around(body)
        if self.eccentricity is not None or low is None or high is None:
            return self.eccentricity
        return (high - low) / (high + low)

    def periapsis_radius_around(self, body: Body) -> float | None:
        """Return the least distance from the centre in m, or None when it is free."""
        if self.periapsis_altitude is not None:
            return body.radius + self.periapsis_altitude
        return self._apsis(-1.0)

    def apoapsis_radius_around(self, body: Body) -> float | None:
        """Return the greatest distance from the centre in m, or None when it is free."""
        if self.apoapsis_altitude is not None:
            return body.radius + self.apoapsis_altitude
        return self._apsis(1.0)

    def _apsis(self, side: float) -> float | None:
        if self.semi_major_axis is None or self.eccentricity is None:
            return None
        return self.semi_major_axis * (1.0 + side * self.eccentricity)


Orbit = CircularOrbit | EllipticalOrbit
"""What a mission may aim at."""


def is_equatorial(inclination: float | None) -> bool:
    """Whether a plane is said to be the equator's, to what tells one from it."""
    return inclination is not None and min(inclination, pi - inclination) < LEVEL


def points_among_the_stars(orbit: Orbit) -> bool:
    """Whether a direction in inertial space is asked for: a node, or a periapsis without one."""
    if orbit.ascending_node is not None:
        return True
    placed = isinstance(orbit, EllipticalOrbit) and orbit.argument_of_periapsis is not None
    return placed and is_equatorial(orbit.inclination)


def _check_plane(owner: str, inclination: float | None, ascending_node: float | None) -> None:
    if inclination is not None:
        fix = "Give radians from 0 (eastward) to pi (westward), for instance 51.6 * deg."
        within(owner, "inclination", inclination, "rad", (0.0, pi), fix)
    if ascending_node is None:
        return
    fix = "Give radians between -2 pi and 2 pi, for instance 269.8 * deg."
    within(owner, "ascending_node", ascending_node, "rad", (-2 * pi, 2 * pi), fix)
    if inclination in (0.0, pi):
        raise InputError(
            f"{owner}: ascending_node is {ascending_node!r} rad, but inclination is "
            f"{inclination!r} rad; an equatorial orbit has no node. Leave ascending_node out."
        )


def _plane_text(inclination: float | None, ascending_node: float | None) -> str:
    text = "" if inclination is None else f", inclination {inclination / deg:g} deg"
    if ascending_node is not None:
        text += f", ascending node {ascending_node / deg:g} deg"
    return text
