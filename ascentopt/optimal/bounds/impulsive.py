"""The least speed that any ascent must find: a bound before anything is solved."""

from __future__ import annotations

from dataclasses import replace
from math import cos, pi, sqrt

from ascentopt.errors import InfeasibleAscent
from ascentopt.mission import Mission
from ascentopt.mission.mission import ANGLE_TOLERANCE
from ascentopt.rocket import Vehicle
from ascentopt.world.ellipsoid import geocentric_latitude
from ascentopt.world.gravity import surface_circular_speed

LEAST_LOSSES_IN_AIR, LEAST_LOSSES_WITHOUT_AIR = 0.15, 0.07
"""Of the speed of a circle at the ground, what few ascents lose less than, turns of plane aside.
With less than 1.15 times the impulses of an ascent no stage of 300 cases reached its orbit through
air, without air one did with 1.07."""


def impulsive_bound(mission: Mission) -> float:
    """Ideal delta-v in m/s that no flight to the orbit can do without, whatever the vehicle.

    Lower bound by an impulsive ascent that grazes the surface.

    One horizontal impulse at the surface onto an ellipse that touches the orbit, one there to
    join it; gravity, air and steering cost nothing, and the spin of the site is a gift in the
    direction that suits it best for the inclination. Air and finite thrust only add to it, and so
    does the turn into a plane that does not pass over the site.
    Source: the surface-grazing Hohmann ascent; see H. D. Curtis, *Orbital Mechanics for
    Engineering Students*, 3rd ed., sec. 6.3, for the two impulses.
    """
    mu, surface = mission.body.gravitational_parameter, _surface(mission)
    return max(_ascent(mission, mu, surface) - _speed_of_site(mission), 0.0)


def _surface(mission: Mission) -> float:
    """Largest radius of the ground that a flight may graze: conservative where it is flattened."""
    return mission.body.radius + max(mission.site.altitude, 0.0)


def _ascent(mission: Mission, mu: float, surface: float) -> float:
    """Departure from the surface and the burn that joins the orbit at its highest point, m/s."""
    orbit, body = mission.orbit, mission.body
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    axis = orbit.semi_major_axis_around(body)
    if high is None or low is None:
        # The orbit's size alone: its energy, from the surface, in one impulse.
        least = axis if axis is not None else 0.5 * (surface + (low or high or surface))
        return sqrt(max(mu * (2.0 / surface - 1.0 / max(least, 0.51 * surface)), 0.0))
    top = max(high, surface)
    depart = sqrt(2.0 * mu * (1.0 / surface - 1.0 / (surface + top)))
    arrive = sqrt(2.0 * mu * (1.0 / top - 1.0 / (surface + top)))
    final = sqrt(2.0 * mu * (1.0 / top - 1.0 / (low + top)))
    return depart + max(final - arrive, 0.0)


def _speed_of_site(mission: Mission) -> float:
    """Speed of the site along the direction of flight, m/s; a burden when flown against."""
    eastward, latitude = mission.body.rotation_rate * _surface(mission), site_latitude(mission)
    inclination = mission.orbit.inclination
    if inclination is None or not passes_over(mission, inclination):
        # Whichever plane is ascended in, the site gives no more than all of its speed.
        inclination = latitude if eastward >= 0.0 else pi - latitude
    # Along an orbit of inclination i the site's velocity, omega R cos(lat) east, has the component
    # omega R cos(i) wherever the orbit crosses that latitude.
    return eastward * cos(inclination)


def site_latitude(mission: Mission) -> float:
    """Geocentric latitude of the site in rad, never negative."""
    site = mission.site
    return abs(geocentric_latitude(mission.body, site.latitude, site.altitude))


def passes_over(mission: Mission, inclination: float) -> bool:
    """Whether a plane so much inclined may pass over the site."""
    least = site_latitude(mission) - ANGLE_TOLERANCE
    return least <= inclination <= pi - least


def check_bound(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse in milliseconds what no steering can bring to the orbit.

    The vehicle's ideal delta-v, all engines at vacuum thrust and the fairing left on the ground,
    is more than it can ever deliver; the impulsive bound is less than any ascent needs.

    Raises:
        InfeasibleAscent: with the difference as the least shortfall.
    """
    able, needed = replace(vehicle, fairing=None).ideal_delta_v, impulsive_bound(mission)
    if able < needed:
        short = needed - able
        raise InfeasibleAscent(
            f"{vehicle.name}: its ideal delta-v is {able:.0f} m/s, but no ascent from "
            f"{mission.site} to the {mission.orbit} takes less than {needed:.0f} m/s even if "
            f"nothing is lost: short by at least {short:.0f} m/s. Add propellant or stages, raise "
            "the specific impulse, or take payload off.",
            shortfall=short,
        )


def usual_delta_v(mission: Mission) -> float:
    """Ideal delta-v in m/s that few ascents do with less than.

    What is lost is lost on the way up, and hardly depends on the orbit.
    """
    body = mission.body
    circular = surface_circular_speed(body)
    losses = LEAST_LOSSES_IN_AIR if body.atmosphere is not None else LEAST_LOSSES_WITHOUT_AIR
    return impulsive_bound(mission) + losses * circular
