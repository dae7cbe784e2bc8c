"""How hot a payload gets along a flight, and whether its orbit lets the fairing go at all."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import cos, sin

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.mission import Mission
from ascentopt.optimal.problem.phase_model import unpowered
from ascentopt.rocket import Fairing
from ascentopt.world.ellipsoid import geocentric_latitude
from ascentopt.world.orbital_elements import speed_on_orbit


def fairing_must_stay(mission: Mission, fairing: Fairing | None) -> bool:
    """Whether the orbit heats a payload beyond what it bears wherever the flight may join it.

    Then the fairing is carried into the orbit: it would have to go where the payload is not safe,
    then or soon. Told at the highest point, as far above the ellipsoid as a plane may go, by the
    speed along the track through air that turns with the body (omega r cos i less): what is hot
    there is hot everywhere.
    """
    tilt = mission.orbit.inclination
    high, share = (1.0, 1.0) if tilt is None else (sin(tilt) ** 2, cos(tilt))
    return _heats(mission, fairing, high, share)


def fairing_may_stay_in_orbit(mission: Mission, fairing: Fairing | None) -> bool:
    """Whether it heats one so over the equator, or in the plane through the site.

    The flight may then have to join it in a place that costs more than carrying the fairing does.
    """
    tilt, site = mission.orbit.inclination, mission.site
    if tilt is None:
        tilt = abs(geocentric_latitude(mission.body, site.latitude, site.altitude))
    return _heats(mission, fairing, 0.0, cos(tilt))


def _heats(mission: Mission, fairing: Fairing | None, high: float, share: float) -> bool:
    """At the apoapsis.

    Args:
        mission, fairing: as above.
        high: how much of the flattening it is higher above the ellipsoid.
        share: of the speed of the body's rotation there that is along the track.
    """
    air, body, orbit = mission.body.atmosphere, mission.body, mission.orbit
    top, axis = orbit.apoapsis_radius_around(body), orbit.semi_major_axis_around(body)
    if fairing is None or air is None or top is None or axis is None:
        return False
    height = top - body.radius * (1.0 - max(body.flattening, 0.0) * high)
    speed = speed_on_orbit(body.gravitational_parameter, axis, top)
    speed = abs(speed - body.rotation_rate * top * share)
    return 0.5 * float(air.density(height)) * speed**3 > fairing.max_heating


def heating_at(kind: ArcKind, states: Array) -> Array:
    """(k,) the same at states (k, 7)."""
    if kind.body.atmosphere is None:
        return np.zeros(len(states))
    return np.array(
        _heating(replace(kind, direction_is_state=False))(states.T), dtype=float
    ).ravel()


@lru_cache(maxsize=16)
def _heating(kind: ArcKind) -> ca.Function:
    state = ca.SX.sym("state", 7)
    return ca.Function("heating", [state], [unpowered(kind, state).heating])
