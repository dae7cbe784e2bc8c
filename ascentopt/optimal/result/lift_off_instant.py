"""The instant of lift-off: found where it is free, told where a fixed one is in the way.

Gravity, air, wind and ground are the same all around the spin axis. So a flight that is turned
about it is as good a flight, and lifts off when the body has turned the site by as much: with the
instant free the node costs nothing, and what is solved is the mission to any node. The flight found
is then turned to the node that is wanted, and so is the instant. Over the equator, where there is
no node, the line of apsides takes its place. One angle is met by waiting and no more: where a node
and an argument of periapsis are given, the argument counts from the node and is met by the flight.
"""

from __future__ import annotations

from dataclasses import replace
from math import cos, sin, sqrt

import numpy as np

from ascentopt.errors import InfeasibleAscent
from ascentopt.flight.dynamics.local_frame import SPIN
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import fly, unfinished_flight
from ascentopt.mission import Mission
from ascentopt.mission.lift_off import (
    angle_that_waiting_saves,
    angle_to_turn,
    hangs_on_its_instant,
    out_of_plane,
    passes_text,
    time_to_turn,
    waits_for_its_orbit,
)
from ascentopt.mission.orbit import EllipticalOrbit, Orbit, is_equatorial
from ascentopt.optimal.problem.target.aim import apsides, orbit_aim
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.optimal.result.partials import NoPartial, Partials
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering
from ascentopt.units import deg

IN_THE_WAY = 0.1
"""Share of a shortfall that an impulse into the plane must be to have something to do with it. A
turn flown in one burn on the way up costs several times the impulse; a smaller one is no help."""

WORTH_WAITING = 1.0
"""m/s of such an impulse that are not worth a word, where it is not known what is missing."""


def with_awaited_angles_free(mission: Mission) -> Mission:
    """What is to be solved: without the angle that the lift-off waits for, else the same.

    It lifts off with its meridian on the x axis: the same program whatever longitude and angle.
    """
    if not waits_for_its_orbit(mission):
        return mission
    instant = -mission.site.longitude / mission.body.rotation_rate
    orbit: Orbit = replace(mission.orbit, ascending_node=None)
    if isinstance(orbit, EllipticalOrbit) and is_equatorial(orbit.inclination):
        orbit = replace(orbit, argument_of_periapsis=None)
    return replace(mission, orbit=orbit, lift_off_time=instant)


def turned_to_its_orbit(ascent: Ascent, mission: Mission) -> Ascent:
    """An ascent to any node or apsides, turned about the spin axis to the mission's, and flown so.

    Its mission has the instant of lift-off: the first from zero on, and as good every day.
    """
    if not waits_for_its_orbit(mission):
        return ascent
    angle = angle_to_turn(mission, ascent.trajectory.final_state)
    east = angle + with_awaited_angles_free(mission).right_ascension - mission.site.longitude
    timed = replace(mission, lift_off_time=time_to_turn(mission, east))
    steering = _about_the_axis(ascent.steering, angle)
    flight, kept = _flown(ascent.vehicle, timed, steering), ascent.solved_program
    return replace(
        ascent,
        mission=timed,
        steering=steering,
        trajectory=flight.trajectory,
        events=flight.events,
        budget=flight.budget,
        certificate=_missing(ascent, flight, angle),
        partials=_without_what_is_awaited(ascent.partials, mission),
        flight_time=flight.final_time,
        solved_program=None if kept is None else kept.with_instant_free(),
    )


def with_lift_off_instants(refusal: InfeasibleAscent, mission: Mission) -> InfeasibleAscent:
    """A refusal, with the instants that bring the site into the plane where a fixed one may be why.

    Over the equator with what there is to wait for. The same where neither is in the way.
    """
    if mission.lift_off_time is None or not hangs_on_its_instant(mission):
        return refusal
    if _saved_by_waiting(mission) < max(IN_THE_WAY * (refusal.shortfall or 0.0), WORTH_WAITING):
        return refusal
    at = f"At lift_off_time, {mission.lift_off_time:.1f} s,"
    if mission.orbit.ascending_node is None:
        where = f"{at} the line of apsides may be out of reach"
    else:
        where = (
            f"{at} the orbit's plane is {abs(out_of_plane(mission)) / deg:.3g} deg away; "
            f"{passes_text(mission, mission.lift_off_time)}"
        )
    return InfeasibleAscent(
        f"{refusal.message} {where}. Leave lift_off_time None to wait for the best instant.",
        shortfall=refusal.shortfall,
        best=refusal.best,
        diagnosis=refusal.diagnosis,
        least_violation=refusal.least_violation,
    )


def _saved_by_waiting(mission: Mission) -> float:
    """m/s of the impulse that waiting makes needless, at most.

    Into the plane; or, over the equator, to turn the line of apsides by half a revolution, where
    the orbits meet beside it: 2 e sqrt(mu/p), twice the speed away from the centre there.
    """
    if mission.orbit.ascending_node is not None:
        return 2.0 * orbit_aim(mission).speed * sin(0.5 * angle_that_waiting_saves(mission))
    low, high = apsides(mission)
    latus = 2.0 * low * high / (low + high)
    pace = sqrt(mission.body.gravitational_parameter / latus)
    return 2.0 * pace * (high - low) / (high + low)


def _about_the_axis(steering: TabulatedSteering, angle: float) -> TabulatedSteering:
    """A table turned with its flight: up, east and north turn by themselves, another axis does."""
    if steering.axis == SPIN:
        return steering
    x, y, z = steering.axis
    axis = (x * cos(angle) - y * sin(angle), x * sin(angle) + y * cos(angle), z)
    return replace(steering, axis=axis)


def _flown(vehicle: Vehicle, mission: Mission, steering: TabulatedSteering) -> Flight:
    """The independent flight, as far as it goes."""
    try:
        return fly(vehicle, mission, steering)
    except FlightError as failure:
        return unfinished_flight(sequence_of(vehicle, mission, steering.plan), failure)


def _missing(ascent: Ascent, flight: Flight, angle: float) -> Certificate:
    """The certificate, with what the turned flight misses more than the other did, at most."""
    old, new = ascent.trajectory.final_state, flight.final_state
    spin = np.array([[cos(angle), -sin(angle), 0.0], [sin(angle), cos(angle), 0.0], [0, 0, 1.0]])
    place = float(np.linalg.norm(new[:3] - spin @ old[:3]))
    speed = float(np.linalg.norm(new[3:6] - spin @ old[3:6]))
    told = ascent.certificate
    return replace(
        told, position_miss=told.position_miss + place, velocity_miss=told.velocity_miss + speed
    )


def _without_what_is_awaited(partials: Partials, mission: Mission) -> Partials:
    """What is free costs nothing more, one way or the other."""
    awaited = "the lift-off waits for it: any costs as much"
    names = ["ascending node"] if mission.orbit.ascending_node is not None else []
    solved = with_awaited_angles_free(mission).orbit
    if isinstance(mission.orbit, EllipticalOrbit) and isinstance(solved, EllipticalOrbit):
        freed = mission.orbit.argument_of_periapsis != solved.argument_of_periapsis
        names += ["argument of periapsis"] * freed
    angles = [NoPartial(quantity=name, reason=awaited) for name in names]
    reason = "it is free: the optimum has chosen the instant that costs least"
    instant = NoPartial(quantity="lift-off time", reason=reason)
    return replace(partials, missing=(*partials.missing, *angles, instant))
