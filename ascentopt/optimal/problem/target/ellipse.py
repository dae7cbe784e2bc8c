"""The target ellipse as free numbers of the problem: its apsides, and where on it a flight ends.

Radius, climb and horizontal speed follow from the two apsides and the true anomaly. As conditions
they are independent of each other for every eccentricity, each being solved for a part of the state
that the others leave alone. Energy and angular momentum are not: their gradients are parallel at
the apsides of a circle and nearly so on any ellipse that is nearly one. A free element is an apsis
between bounds, so the orbit stays above ceiling and ground, and closed.
"""

from __future__ import annotations

from dataclasses import replace
from math import atan2, cos, inf, sin

import numpy as np

from ascentopt.collocation import Bounds, Problem, Quantity
from ascentopt.collocation.mesh.radau import Array
from ascentopt.mission import Mission
from ascentopt.typing import Expr
from ascentopt.world.orbital_elements import elements

NEARLY_CIRCULAR = 1e-4
"""Eccentricity below which an orbit whose periapsis may lie anywhere is flown as a circle: where on
it a flight ends decides nothing."""

ANOMALY = "true anomaly"

PLACES = 72
"""Places on the ellipse that are compared with a state: none is further than 2.5 deg from one."""


def is_circle(mission: Mission) -> bool:
    """Whether the orbit is flown as a circle of a known radius."""
    axis = mission.orbit.semi_major_axis_around(mission.body)
    return axis is not None and _is_round(mission)


def given_argument_of_periapsis(mission: Mission) -> float | None:
    """The argument of periapsis in rad; None where it is free."""
    argument: float | None = getattr(mission.orbit, "argument_of_periapsis", None)
    return argument


def orbit_numbers(mission: Mission) -> tuple[Quantity, ...]:
    """The free numbers: both apsides and the true anomaly; none for a circle."""
    if is_circle(mission):
        return ()
    size = mission.body.radius
    apsides = Quantity("periapsis radius", "m", size), Quantity("apoapsis radius", "m", size)
    return (*apsides, Quantity(ANOMALY, "rad"))


def orbit_bounds(mission: Mission) -> Bounds:
    """Bounds of the free numbers; those of what is given coincide."""
    if is_circle(mission):
        return Bounds.free(0)
    # An angle needs no bounds; of a circle of free radius it says nothing.
    anomaly = (0.0, 0.0) if _is_round(mission) else (-inf, inf)
    pairs = (*_apsides_between(mission), anomaly)
    return Bounds(lower=tuple(low for low, _ in pairs), upper=tuple(high for _, high in pairs))


def orbit_start(mission: Mission, state: Array) -> Array:
    """The free numbers to begin with for a flight that ends in a state (6,) or near it.

    Free apsides are those of the osculating orbit, as far as their bounds allow; the anomaly is
    that of the nearest place on the ellipse, which says something on a circle, too.
    """
    if is_circle(mission):
        return np.zeros(0)
    apsides = _apsides_near(mission, state)
    anomaly = 0.0 if _is_round(mission) else _nearest_anomaly(mission, apsides, state)
    return np.array([*apsides, anomaly])


def with_place_held(problem: Problem, free: Array) -> Problem | None:
    """The problem with the anomaly kept where it is; None where it is not free.

    How long a flight coasts and where on an ellipse it ends hardly matters where the ellipse is
    nearly a circle and may lie anyhow in its plane: of all directions at such an optimum this one
    has a curvature fifty times less than the next.
    """
    names, bounds = [one.name for one in problem.free], problem.free_bounds
    if ANOMALY not in names:
        return None
    k = names.index(ANOMALY)
    lower, upper = list(bounds.lower), list(bounds.upper)
    if lower[k] == upper[k]:
        return None
    lower[k] = upper[k] = float(free[k])
    return replace(problem, free_bounds=Bounds(lower=tuple(lower), upper=tuple(upper)))


def place_on(
    mu: float, apsides: tuple[Expr, Expr], cosine: Expr, sine: Expr
) -> tuple[Expr, Expr, Expr]:
    """Radius, climb and horizontal speed at a true anomaly, of symbols, numbers or arrays.

    r = p/(1 + e cos nu), sqrt(mu/p) e sin nu, sqrt(mu/p) (1 + e cos nu): Vallado, Fundamentals of
    Astrodynamics and Applications, 4th ed., sec. 2.3 (from memory).
    """
    low, high = apsides
    latus, shape = 2.0 * low * high / (low + high), (high - low) / (high + low)
    pace = (mu / latus) ** 0.5
    factor = 1.0 + shape * cosine
    return latus / factor, pace * shape * sine, pace * factor


def _is_round(mission: Mission) -> bool:
    shape = mission.orbit.eccentricity_around(mission.body)
    return (
        shape is not None
        and shape < NEARLY_CIRCULAR
        and given_argument_of_periapsis(mission) is None
    )


def _apsides_between(mission: Mission) -> tuple[tuple[float, float], tuple[float, float]]:
    """Least and greatest radius of the periapsis, and of the apoapsis."""
    orbit, body = mission.orbit, mission.body
    floor = body.radius + mission.floor
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    axis, shape = orbit.semi_major_axis_around(body), orbit.eccentricity_around(body)
    if low is not None:
        return (low, low), (low, inf) if high is None else (high, high)
    if high is not None:
        return (floor, high), (high, high)
    if axis is not None:
        return (floor, axis), (axis, 2.0 * axis - floor)
    return (floor, inf), (floor * _ratio(shape or 0.0), inf)


def _ratio(eccentricity: float) -> float:
    """Apoapsis over periapsis radius."""
    return (1.0 + eccentricity) / (1.0 - eccentricity)


def _apsides_near(mission: Mission, state: Array) -> tuple[float, float]:
    """Of the osculating orbit as far as what is given and the bounds allow."""
    pairs = _apsides_between(mission)
    orbit = elements(mission.body.gravitational_parameter, state[:3], state[3:6])
    found = (orbit.periapsis_radius, orbit.apoapsis_radius)
    # An open orbit has no far end, and stands for one as long as the start of the ellipse is high.
    far = 2.0 * float(np.linalg.norm(state[:3]))
    low, high = (
        float(np.clip(one if one < inf else far, *pair))
        for one, pair in zip(found, pairs, strict=True)
    )
    axis = mission.orbit.semi_major_axis_around(mission.body)
    shape = mission.orbit.eccentricity_around(mission.body)
    if pairs[0][0] < pairs[0][1] and axis is not None:
        return low, 2.0 * axis - low
    if pairs[0][0] < pairs[0][1] and shape is not None:
        return low, low * _ratio(shape)
    return low, high


def _nearest_anomaly(mission: Mission, apsides: tuple[float, float], state: Array) -> float:
    """Of the place whose radius, climb and horizontal speed are nearest to a state's.

    A radius counts as speed by the rate of a circle there.
    """
    mu = mission.body.gravitational_parameter
    radius = float(np.linalg.norm(state[:3]))
    climb = float(state[:3] @ state[3:6]) / radius
    across = float(np.linalg.norm(np.cross(state[:3], state[3:6]))) / radius
    angles = np.linspace(-np.pi, np.pi, PLACES, endpoint=False)
    places = place_on(mu, apsides, np.cos(angles), np.sin(angles))
    gaps = [place - own for place, own in zip(places, (radius, climb, across), strict=True)]
    squares = gaps[0] ** 2 * mu / radius**3 + gaps[1] ** 2 + gaps[2] ** 2
    # The squared gap is nearly a sinusoid on what is nearly a circle: its phase, not a grid's step.
    best = int(np.argmin(squares))
    before, here, after = squares[best - 1], squares[best], squares[(best + 1) % PLACES]
    curve = before - 2.0 * here + after
    shift = 0.5 * (before - after) / curve if curve > 0.0 else 0.0
    angle = float(angles[best] + np.clip(shift, -0.5, 0.5) * (angles[1] - angles[0]))
    return atan2(sin(angle), cos(angle))
