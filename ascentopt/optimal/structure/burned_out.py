"""Orbits so high that every burn from the pad on is over before a flight could be there."""

from __future__ import annotations

from dataclasses import replace
from math import inf, sqrt

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle


def burned_out_below(vehicle: Vehicle, mission: Mission) -> str | None:
    """Why no flight without a coast of free length reaches the orbit; None where one may.

    Let w(t)^2 / 2 be the energy of the flight above that of rest at the ground, its lowest place.
    Thrust a changes it by a . v, and |v| <= w, so w grows by no more than a. Whatever is burned
    when, w is at most the pad's speed and all the ideal delta-v, with no fairing aboard. So nothing
    is sooner at a height than what is thrown straight up at that speed, on a Kepler orbit, and that
    may be too late for engines that have to burn up to there. The body counts as a sphere.
    """
    body = mission.body
    lowest = mission.orbit.periapsis_radius_around(body)
    if lowest is None:
        return None
    ground = body.radius + mission.site.altitude
    speed = replace(vehicle, fairing=None).ideal_delta_v + abs(body.rotation_rate) * ground
    climb = least_climb(body.gravitational_parameter, ground, lowest, speed)
    burn = _longest_burn(vehicle)
    if climb <= burn:
        return None
    return (
        f"not solved for: thrown straight up with all its ideal delta-v it would be "
        f"{climb:.0f} s to the orbit's height, and it burns for {burn:.0f} s at most"
    )


def _longest_burn(vehicle: Vehicle) -> float:
    """From lift-off to the end of the last stage at the least throttle, in s."""
    stages = vehicle.stages
    return sum(one.ignition_delay + one.burn_time / one.engine.min_throttle for one in stages)


def least_climb(mu: float, ground: float, radius: float, speed: float) -> float:
    """Time in s of a body thrown straight up, m/s, between two radii, m; inf if it turns before.

    The integral of dr / v with v^2 = speed^2 - 2 mu (1 / ground - 1 / r).
    """
    from scipy.integrate import quad

    def square(at: float) -> float:
        return speed**2 - 2.0 * mu * (1.0 / ground - 1.0 / at)

    if square(radius) <= 0.0:
        return inf
    return float(quad(lambda at: 1.0 / sqrt(square(at)), ground, radius)[0])
