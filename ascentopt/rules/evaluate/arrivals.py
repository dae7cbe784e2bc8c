"""Where in an orbit rules of thumb may end: at its apsides, which they meet level."""

from __future__ import annotations

from ascentopt.errors import InputError
from ascentopt.mission import EllipticalOrbit, Mission
from ascentopt.rules.insertion.insertion import Arrival
from ascentopt.world.orbital_elements import speed_on_orbit


def arrivals_of(mission: Mission) -> tuple[Arrival, ...]:
    """Anywhere on a circle; at the periapsis of an ellipse, or at its apoapsis.

    Raises:
        InputError: for an ellipse that is not given whole, or one that is placed among the stars.
    """
    body, orbit = mission.body, mission.orbit
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    placed = isinstance(orbit, EllipticalOrbit) and orbit.argument_of_periapsis is not None
    if low is None or high is None or placed or orbit.ascending_node is not None:
        raise InputError(
            f"rules of thumb: the orbit is a {orbit}; they end at an apsis of an orbit whose size "
            "and shape are given and whose node and argument of periapsis are free. Give both "
            "altitudes, and leave ascending_node and argument_of_periapsis out: as long as the "
            "instant of lift-off is free the node changes nothing else."
        )
    mu, axis = body.gravitational_parameter, 0.5 * (low + high)
    radii = (low,) if low == high else (low, high)
    return tuple(Arrival(radius=r, speed=speed_on_orbit(mu, axis, r)) for r in radii)
