"""Where in an orbit rules of thumb may end: at its apsides, which they meet level."""

from __future__ import annotations

from ascentopt.errors import InputError
from ascentopt.mission import EllipticalOrbit, Mission
from ascentopt.mission.orbit import is_equatorial
from ascentopt.rules.evaluate.waiting import refuse_what_waiting_does_not_bring
from ascentopt.rules.insertion.insertion import Arrival
from ascentopt.world.orbital_elements import speed_on_orbit


def arrivals_of(mission: Mission) -> tuple[Arrival, ...]:
    """Anywhere on a circle; at the periapsis of an ellipse, or at its apoapsis.

    Raises:
        InputError: for an ellipse that is not given whole, one whose periapsis has a place in its
            plane, and a node or a line of apsides that waiting for it does not bring round.
    """
    body, orbit = mission.body, mission.orbit
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    if low is None or high is None:
        raise InputError(
            f"rules of thumb: the orbit is a {orbit}; they end at an apsis of an orbit whose "
            "size and shape are given. Give both altitudes."
        )
    if _is_placed_in_its_plane(mission):
        raise InputError(
            f"rules of thumb: the orbit is a {orbit}; they burn into it at an apsis, and how far "
            "from the node that lies follows from the site and the way up, not from "
            "argument_of_periapsis. Leave it out; or fly them into a circle at the periapsis's "
            "altitude, from which a burn at that argument raises the apoapsis."
        )
    refuse_what_waiting_does_not_bring(mission)
    mu, axis = body.gravitational_parameter, 0.5 * (low + high)
    radii = (low,) if low == high else (low, high)
    return tuple(Arrival(radius=r, speed=speed_on_orbit(mu, axis, r)) for r in radii)


def _is_placed_in_its_plane(mission: Mission) -> bool:
    """Whether the periapsis must lie somewhere that no waiting brings round."""
    orbit = mission.orbit
    placed = isinstance(orbit, EllipticalOrbit) and orbit.argument_of_periapsis is not None
    return placed and not is_equatorial(orbit.inclination)
