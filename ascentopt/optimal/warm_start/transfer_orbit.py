"""By a transfer: the burn into an ellipse that touches the orbit, half a revolution, a short burn.

The first burn alone is a direct insertion, which is solved from any guess in some 20 iterations.
With the coast and the last burn added it is all but the flight looked for. A flown guess is not,
where the vehicle is weak or the ellipse begins at the ground: a pitch programme of two numbers
climbs far above it first, and of five such cases on an airless body none was solved from there.
"""

from __future__ import annotations

from dataclasses import replace
from math import sqrt

import numpy as np

from ascentopt.collocation import Guess, RadauMesh, Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.mission import EllipticalOrbit, Mission
from ascentopt.optimal.guess.first_mesh import MeshedGuess, mesh_along, mesh_outside
from ascentopt.optimal.guess.flown_arcs import (
    COAST_STEPS,
    arc_guess,
    fly_at_pitch,
    free_numbers,
)
from ascentopt.optimal.problem.target.aim import AimPoint, orbit_aim
from ascentopt.optimal.problem.target.plane import flown_plane
from ascentopt.optimal.problem.transcription import clearance
from ascentopt.world.orbital_elements import elements

ABOVE = 0.1
"""Share of the orbit's height at which the ellipse begins where there is no air, or of a tenth of
the radius if that is less: lower, the solver finds nothing to move in, and from far above the
ground the way down to the best place, near it, is a valley in which it creeps."""

OVER_THE_AIR = 1.005
"""Times the ceiling of the air; the solver goes below that by itself where it pays."""

LAST = 5.0
"""s of the last burn, to begin with, at least: with one second four of fifteen were not solved."""


def mission_to_transfer_ellipse(mission: Mission) -> Mission | None:
    """The same mission to the ellipse; None where the orbit lies too low for one.

    And where its periapsis is free: the burn into the ellipse is then the whole insertion.
    """
    body, orbit = mission.body, mission.orbit
    if orbit.periapsis_radius_around(body) is None:
        return None
    target = orbit_aim(mission).radius - body.radius
    if body.atmosphere is None:
        ground = max(clearance(mission), mission.site.altitude + (mission.vertical_rise or 0.0))
        low = ground + ABOVE * min(target - ground, ABOVE * body.radius)
    else:
        low = OVER_THE_AIR * mission.floor
    high = orbit.apoapsis_radius_around(body)
    high = target if high is None else high - body.radius
    if low >= min(target, high):
        return None
    ellipse = EllipticalOrbit(
        periapsis_altitude=low,
        apoapsis_altitude=high,
        inclination=flown_plane(mission).inclination,
        ascending_node=orbit.ascending_node,
    )
    try:
        return replace(mission, orbit=ellipse)
    except InputError:  # a plane or a reserve that such an orbit does not allow
        return None


def with_transfer_added(
    flight: Solution, sequence: Sequence, planned: Sequence, mission: Mission
) -> MeshedGuess | None:
    """A flight into the ellipse with the coast and the last burn of ``planned`` added.

    None where the two differ otherwise.
    """
    if len(planned.arcs) != len(sequence.arcs) + 2:
        return None
    guess, (coast, burn) = flight.as_guess(), planned.arcs[-2:]
    start, at = guess.arcs[-1].states[-1], float(guess.instants[-1])
    away = min(_half_way(start, coast), 0.95 * coast.duration[1])
    drift = fly_at_pitch(coast, start, at, away, COAST_STEPS)
    after = drift.states[-1].copy()
    after[MASS] = coast.joint.mass(float(after[MASS]))
    seconds = _seconds(after, burn, orbit_aim(mission))
    last = fly_at_pitch(burn, after, at + away, seconds, 8)
    instants = np.concatenate((guess.instants, [at + away, last.times[-1]]))
    arcs = (*guess.arcs, arc_guess(drift), arc_guess(last))
    meshes: tuple[RadauMesh, ...] = tuple(arc.arc.mesh for arc in flight.arcs)
    return MeshedGuess(
        (*meshes, mesh_along(drift), mesh_outside(burn, seconds)),
        Guess(instants, arcs, free_numbers(mission, last.states[-1]), near=True),
    )


def _half_way(state: Array, coast: FlightArc) -> float:
    """Seconds to the far end of the ellipse."""
    orbit = elements(coast.kind.body.gravitational_parameter, state[:3], state[3:6])
    return max(orbit.time_to_apoapsis % orbit.period, 0.1 * orbit.period)


def _seconds(state: Array, burn: FlightArc, aim: AimPoint) -> float:
    """Of the burn from the far end of the ellipse into the orbit."""
    radius, speed = float(np.linalg.norm(state[:3])), float(np.linalg.norm(state[3:6]))
    mu = burn.kind.body.gravitational_parameter
    wanted = sqrt(max(aim.speed**2 + 2.0 * mu * (1.0 / radius - 1.0 / aim.radius), 0.0))
    needed = burn.seconds_to_gain(float(state[MASS]), max(wanted - speed, 0.0))
    return min(max(needed, LAST), 0.5 * burn.duration[1])
