"""What can be said before anything is solved."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

from ascentopt.mission import Mission
from ascentopt.world.ellipsoid import geocentric_latitude


@dataclass(frozen=True)
class ImpulsiveBound:
    """Least speed that any ascent must find, whatever the vehicle.

    Attributes:
        speed: m/s of ideal delta-v that no flight to the orbit can do without.
    """

    speed: float


def impulsive_bound(mission: Mission) -> ImpulsiveBound:
    """Lower bound by an impulsive ascent that grazes the surface.

    One horizontal impulse at the surface onto an ellipse that touches the orbit, one there to
    join it; gravity, air and steering cost nothing, and the spin of the site is a gift in the
    direction that suits it best for the inclination. Air and finite thrust only add to it.
    Source: the surface-grazing Hohmann ascent; see H. D. Curtis, *Orbital Mechanics for
    Engineering Students*, 3rd ed., sec. 6.3, for the two impulses.
    """
    mu, surface = mission.body.gravitational_parameter, _surface(mission)
    return ImpulsiveBound(max(_ascent(mission, mu, surface) - _gift(mission), 0.0))


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


def _gift(mission: Mission) -> float:
    """Speed of the site along the direction of flight, m/s; a burden when flown against."""
    site, body = mission.site, mission.body
    latitude = geocentric_latitude(body, site.latitude, site.altitude)
    eastward = body.rotation_rate * _surface(mission)
    inclination = mission.orbit.inclination
    if inclination is None:
        inclination = abs(latitude) if eastward >= 0.0 else pi - abs(latitude)
    # Along an orbit of inclination i the site's velocity, omega R cos(lat) east, has the component
    # omega R cos(i) wherever the orbit crosses that latitude.
    from math import cos

    return eastward * cos(inclination)
