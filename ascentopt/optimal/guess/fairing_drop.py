"""When a flown guess could drop its fairing."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache
from math import cos, sin, sqrt

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.guess.flown_arcs import FlownArc
from ascentopt.optimal.problem.phase_model import unpowered
from ascentopt.rocket import Fairing
from ascentopt.world.ellipsoid import geocentric_latitude


def drop_time(flown: tuple[FlownArc, ...], limit: float) -> tuple[str, float]:
    """Name of the arc and time at which heating has fallen below ``limit`` W/m^2 for good.

    On an airless body, or where heating never reaches the limit, that is as soon as the pitch-over
    has begun; where it never falls below, as late as the last burn goes.
    """
    arcs = [arc for arc in flown if arc.arc.rise is None]
    hot = [np.flatnonzero(heating(arc) > limit) for arc in arcs]
    last = max((k for k, rows in enumerate(hot) if len(rows)), default=0)
    times = arcs[last].times
    row = int(hot[last][-1]) + 1 if len(hot[last]) else 1
    if row >= len(times) - 1 and last + 1 < len(arcs):
        last, row, times = last + 1, 1, arcs[last + 1].times
    inside = float(times[min(row, len(times) - 2)])
    return arcs[last].arc.name, inside


def must_stay(mission: Mission, fairing: Fairing | None) -> bool:
    """Whether the orbit heats a payload beyond what it bears wherever the flight may join it.

    Then the fairing is carried into the orbit: it would have to go where the payload is not safe,
    then or soon. Told at the highest point, as far above the ellipsoid as a plane may go, by the
    speed along the track through air that turns with the body (omega r cos i less): what is hot
    there is hot everywhere.
    """
    tilt = mission.orbit.inclination
    high, share = (1.0, 1.0) if tilt is None else (sin(tilt) ** 2, cos(tilt))
    return _heats(mission, fairing, high, share)


def may_stay(mission: Mission, fairing: Fairing | None) -> bool:
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
    speed = sqrt(body.gravitational_parameter * (2.0 / top - 1.0 / axis))
    speed = abs(speed - body.rotation_rate * top * share)
    return 0.5 * float(air.density(height)) * speed**3 > fairing.max_heating


def middle_of(flown: tuple[FlownArc, ...], name: str) -> float:
    """Time halfway through the arc of this name."""
    arc = next(one for one in flown if one.arc.name == name)
    return float(0.5 * (arc.times[0] + arc.times[-1]))


def place_of_the_drop(
    sequence: Sequence,
    flown: tuple[FlownArc, ...],
    plan: FlightPlan,
    limit: float,
    *,
    climbs: bool,
) -> tuple[str, float]:
    """Name of the arc in which the fairing goes, and when: by the plan, or else by the guess.

    One that ``climbs`` out of the heat before it coasts may fall short of that height: it then
    still heats where the coast begins, and the burn before is the place all the same, not the far
    end of the coast.
    """
    if plan.fairing_arc is not None:
        return plan.fairing_arc, middle_of(flown, plan.fairing_arc)
    arc, at = drop_time(flown, limit)
    index, arcs = sequence.names.index(arc), sequence.arcs
    free_coast = not (arcs[index].burning or arcs[index].fixed)
    earlier = index - (climbs and free_coast and arcs[index - 1].burning)
    place = next(k for k in range(earlier, -1, -1) if sequence.may_drop_in(k))
    if place == index:
        return arc, at
    return arcs[place].name, middle_of(flown, arcs[place].name)


def heating(flown: FlownArc) -> Array:
    """(k,) free-molecular heating along an arc in W/m^2."""
    return heating_at(flown.arc.kind, flown.states)


def heating_at(kind: ArcKind, states: Array) -> Array:
    """(k,) the same at states (k, 7)."""
    if kind.body.atmosphere is None:
        return np.zeros(len(states))
    return np.array(_heating(replace(kind, turning=False))(states.T), dtype=float).ravel()


@lru_cache(maxsize=16)
def _heating(kind: ArcKind) -> ca.Function:
    state = ca.SX.sym("state", 7)
    return ca.Function("heating", [state], [unpowered(kind, state).heating])
