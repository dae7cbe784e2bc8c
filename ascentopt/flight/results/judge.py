"""Judge a flight by the orbit and the limits of its mission."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from math import hypot

import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.limit_check import broken_limits
from ascentopt.flight.results.verdict import OrbitMiss, Verdict
from ascentopt.mission import EllipticalOrbit, Mission
from ascentopt.rocket import Vehicle
from ascentopt.world.orbital_elements import OrbitalElements, elements

_INSERTION, _NONE = "insertion", "end of flight"


def judged(flight: Flight, vehicle: Vehicle, mission: Mission, sequence: Sequence) -> Flight:
    """The flight with its verdict; its end is called an insertion only where it is one."""
    verdict = _verdict(flight, vehicle, mission, sequence)
    if verdict.in_orbit:
        return replace(flight, verdict=verdict)
    rows = tuple(
        replace(row, name=_NONE) if row.name == _INSERTION else row for row in flight.events
    )
    return replace(flight, verdict=verdict, events=EventTable(rows=rows))


def _verdict(flight: Flight, vehicle: Vehicle, mission: Mission, sequence: Sequence) -> Verdict:
    body, state = mission.body, flight.final_state
    found = elements(body.gravitational_parameter, state[:3], _sideways(state))
    cut_off = flight.trajectory.arcs[sequence.cut_off].states[-1]
    dropped = any(arc.joint.fairing for arc in sequence.arcs)
    return Verdict(
        asked=str(mission.orbit),
        periapsis=found.periapsis_radius - body.radius,
        apoapsis=found.apoapsis_radius - body.radius,
        inclination=found.inclination,
        floor=mission.floor,
        misses=tuple(_misses(mission, found)),
        propellant_left=sequence.propellant_left(float(cut_off[MASS])),
        broken=tuple(broken_limits(flight, mission.limits, vehicle.max_heating)),
        fairing_kept=vehicle.fairing is not None and not dropped,
    )


def _sideways(state: np.ndarray) -> np.ndarray:
    """(3,) the velocity, in some plane: straight up or down has none."""
    velocity: np.ndarray = state[3:6].copy()
    if not np.any(np.cross(state[:3], velocity)):
        velocity += 1e-9 * np.array([-state[1], state[0], 0.0]) / hypot(state[0], state[1], 1e-9)
    return velocity


def _misses(mission: Mission, found: OrbitalElements) -> Iterator[OrbitMiss]:
    """Of the apsides where both are known, or else of what is; of angles that are given."""
    body, orbit = mission.body, mission.orbit
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    sizes = (("periapsis", low, found.periapsis_radius), ("apoapsis", high, found.apoapsis_radius))
    for name, radius, got in sizes:
        if radius is not None:
            asked = radius - body.radius
            yield OrbitMiss(name=name, asked=asked, got=got - body.radius, unit="m")
    axis = orbit.semi_major_axis_around(body)
    if (low is None or high is None) and axis is not None:
        yield OrbitMiss(name="semi-major axis", asked=axis, got=found.semi_major_axis, unit="m")
    if isinstance(orbit, EllipticalOrbit) and axis is None and orbit.eccentricity is not None:
        shape = orbit.eccentricity
        yield OrbitMiss(name="eccentricity", asked=shape, got=found.eccentricity, unit="")
    argument = orbit.argument_of_periapsis if isinstance(orbit, EllipticalOrbit) else None
    angles = (
        ("inclination", orbit.inclination, found.inclination),
        ("ascending node", orbit.ascending_node, found.ascending_node),
        ("argument of periapsis", argument, found.argument_of_periapsis),
    )
    for name, wanted, angle in angles:
        if wanted is not None:
            yield OrbitMiss(name=name, asked=wanted, got=angle, unit="rad")
