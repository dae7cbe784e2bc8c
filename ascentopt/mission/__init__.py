"""Descriptions of missions: launch site, target orbit, limits in flight."""

from __future__ import annotations

from ascentopt.mission.lift_off import PlanePass, plane_passes
from ascentopt.mission.limits import FlightLimits
from ascentopt.mission.mission import Mission
from ascentopt.mission.orbit import CircularOrbit, EllipticalOrbit, Orbit
from ascentopt.mission.reserve import DeorbitReserve, PropellantReserve, Reserve
from ascentopt.mission.site import LaunchSite

__all__ = [
    "CircularOrbit",
    "DeorbitReserve",
    "EllipticalOrbit",
    "FlightLimits",
    "LaunchSite",
    "Mission",
    "Orbit",
    "PlanePass",
    "PropellantReserve",
    "Reserve",
    "plane_passes",
]
