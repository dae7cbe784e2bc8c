"""A node, or over the equator a line of apsides, is met by the instant of lift-off.

Rules steer by up, east and north, which turn with the site: a flight that lifts off later is the
same flight, turned about the spin axis. So it is closed in the orbit whatever its node, and lifts
off when that is the node asked for.
"""

from __future__ import annotations

from dataclasses import replace
from math import pi, remainder

from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.mission.lift_off import (
    angle_to_turn,
    hangs_on_its_instant,
    out_of_plane,
    passes_text,
    time_to_turn,
)
from ascentopt.mission.orbit import points_among_the_stars
from ascentopt.typing import Floats
from ascentopt.units import deg

_BESIDE = 2.0 * deg
"""How far from the plane the site may be at an instant that is given. An optimum that has waited
lifts off some minutes before or after a rule does; a plane that is further away is another."""


def refuse_what_waiting_does_not_bring(mission: Mission) -> None:
    """Raise `InputError` where the body does not turn, or the instant given is another one."""
    orbit = mission.orbit
    if not points_among_the_stars(orbit):
        return
    if not hangs_on_its_instant(mission):
        raise InputError(
            f"rules of thumb: the orbit is a {orbit}; they meet its node or line of apsides by "
            f"waiting for it, and {mission.body.name} does not turn. Leave ascending_node and "
            "argument_of_periapsis out."
        )
    if mission.lift_off_time is None or orbit.ascending_node is None:
        return
    away = abs(out_of_plane(mission))
    if away > _BESIDE:
        raise InputError(
            f"rules of thumb: lift_off_time is {mission.lift_off_time:.1f} s, when the orbit's "
            f"plane is {away / deg:.3g} deg away from the site; they meet its node by their "
            f"instant of lift-off, and {passes_text(mission, mission.lift_off_time)}. Leave "
            "lift_off_time None to wait for it."
        )


def timed(mission: Mission, state: Floats) -> Mission:
    """The mission with the instant at which a flight of it ends at the node asked for.

    The first one where the instant is free, else the nearest to it; the same mission where the
    instant does not matter. `state` is (n,) where the flight ends that lifts off as the mission
    says.
    """
    if not hangs_on_its_instant(mission):
        return mission
    angle, given = angle_to_turn(mission, state), mission.lift_off_time
    if given is None:
        return replace(mission, lift_off_time=time_to_turn(mission, angle))
    return replace(
        mission, lift_off_time=given + remainder(angle, 2.0 * pi) / mission.body.rotation_rate
    )
