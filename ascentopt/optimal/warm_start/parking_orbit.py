"""By a parking orbit: a low circle, a coast to the transfer, and a burn after each coast.

An orbit whose plane does not pass through the pad, or whose apsides lie elsewhere, is not reached
by a burn that begins at the pad. The flight into the circle is a direct insertion, which is solved
from any guess; impulses between Kepler arcs tell where the later burns go, and the solver closes
what a burn of some minutes differs from an impulse by.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from math import cos, pi, sin, sqrt

import numpy as np

from ascentopt.collocation import ArcGuess, Guess, Solution
from ascentopt.collocation.mesh.radau import Array
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import CircularOrbit, Mission
from ascentopt.mission.mission import ANGLE_TOLERANCE
from ascentopt.optimal.guess.first_mesh import MeshedGuess, mesh_along
from ascentopt.optimal.guess.flown_arcs import (
    COAST_STEPS,
    FlownArc,
    arc_guess,
    fly_at_pitch,
    fly_pushed,
    free_numbers,
)
from ascentopt.optimal.problem.target.aim import (
    CLEARANCE,
    apsides,
    ascending_node,
    cool_altitude,
    plane_met_from,
    speed_at,
)
from ascentopt.optimal.problem.target.plane import beside_a_pole, flown_plane
from ascentopt.rocket import Fairing
from ascentopt.world.ellipsoid import geocentric_latitude
from ascentopt.world.orbital_elements import circular_speed, speed_on_orbit

SOON = 0.1
"""rad of the circle before which no burn begins: the insertion has hardly ended."""

CLEAR = 0.01
"""Of the radius: the height of a low circle without air, above mountains (common practice, no
source: 15 to 20 km above the Moon)."""

SAME_PLANE = 1e-3
"""rad between planes that are one: a change of speed by such a share makes no other one."""

BESIDE = sqrt(0.5)
"""Cosine of the angle between a periapsis and the circle's plane up to which the burn is beside it.

Further away the planes differ by more, and the burn is where they meet: over a periapsis that is
square to the circle every place is as far from it.
"""


@dataclass(frozen=True, eq=False)
class Impulse:
    """A change of velocity on the way from the circle to the orbit.

    Args:
        wait: s from the last one, or from the insertion into the circle.
        position, before, after: (3,) where it is, and the velocities.
    """

    wait: float
    position: Array
    before: Array
    after: Array

    @property
    def direction(self) -> Array:
        """(3,) unit vector of the thrust; onwards where there is no impulse to say where.

        It vanishes where the orbit before is the one after: no burn to a transfer from a circle
        that is as high as the orbit, and none after one that is the orbit already.
        """
        change = self.after - self.before
        vanishes = np.linalg.norm(change) < SAME_PLANE * np.linalg.norm(self.before)
        return unit(self.before if vanishes else change)


def below_the_latitude(mission: Mission) -> bool:
    """Whether no plane of the orbit's inclination passes through the pad."""
    inclination = mission.orbit.inclination
    if inclination is None:
        return False
    return min(inclination, pi - inclination) < _latitude(mission) - SAME_PLANE


def has_two_headings(mission: Mission) -> bool:
    """Whether the pad lies in two planes of the orbit's inclination, one north- and one southward.

    Due east and due west are their own mirror images; beside a pole the node says which way.
    """
    plane = flown_plane(mission)
    if plane.inclination is None or plane.node is not None or below_the_latitude(mission):
        return False
    return min(plane.inclination, pi - plane.inclination) > _latitude(mission) + ANGLE_TOLERANCE


def _latitude(mission: Mission) -> float:
    """Geocentric latitude of the site in rad, never negative."""
    site = mission.site
    return abs(geocentric_latitude(mission.body, site.latitude, site.altitude))


def wants_parking(mission: Mission) -> bool:
    """Whether the orbit's plane or apsides lie where no burn from the pad ends."""
    turned = getattr(mission.orbit, "argument_of_periapsis", None) is not None
    return below_the_latitude(mission) or turned


def mission_to_parking_circle(
    mission: Mission, fairing: Fairing | None, coasts: int
) -> Mission | None:
    """The mission to the circle; None where its plane or height cannot be.

    With one coast the only burn after it leaves from the circle into the orbit, which therefore
    has its height at the periapsis.
    """
    body, (radius, _) = mission.body, apsides(mission)
    if coasts > 1:
        radius = min(body.radius + _low(mission, fairing), radius)
    # Beside a pole the heading is free for nothing: it is that which meets the orbit's plane.
    node = flown_plane(mission).node if beside_a_pole(mission) else None
    inclination = _parked_in(mission)
    try:
        circle = CircularOrbit(
            altitude=radius - body.radius, inclination=inclination, ascending_node=node
        )
        return replace(mission, orbit=circle, reserve=None)
    except InputError:
        return None


def _parked_in(mission: Mission) -> float | None:
    """Inclination in rad of the circle: the orbit's, or the nearest that passes through the pad.

    None where that is due east, or over a pole any; due west it says so.
    """
    inclination = flown_plane(mission).inclination
    if inclination is None or not below_the_latitude(mission):
        return inclination
    return None if inclination <= 0.5 * pi else pi - _latitude(mission)


def _low(mission: Mission, fairing: Fairing | None) -> float:
    """Altitude in m of a low circle: above the air and its heat, or clear of an airless ground."""
    if mission.body.atmosphere is None:
        return mission.floor + CLEAR * mission.body.radius
    return CLEARANCE * max(mission.floor, cool_altitude(mission, fairing))


def impulses(mission: Mission, state: Array, coasts: int) -> list[Impulse]:
    """One for each coast, from the (7,) ``state`` in which the circle is reached."""
    mu = mission.body.gravitational_parameter
    radius = float(np.linalg.norm(state[:3]))
    normal = unit(np.cross(state[:3], state[3:6]))
    final = plane_met_from(mission, normal)
    place = _place(mission, state, normal, final)
    rate = sqrt(mu / radius**3)
    wait = angle_to(state[:3], place, normal) / rate
    here, around = radius * place, circular_speed(mu, radius) * np.cross(normal, place)
    if coasts == 1:
        speed = speed_at(mission, radius)
        return [Impulse(wait, here, around, speed * unit(np.cross(final, place)))]
    _, far = apsides(mission)
    axis = 0.5 * (radius + far)
    leaving, arriving = (speed_on_orbit(mu, axis, r) for r in (radius, far))
    first = Impulse(wait, here, around, leaving * np.cross(normal, place))
    reached = -far * place
    before = -arriving * np.cross(normal, place)
    after = -speed_at(mission, far) * unit(np.cross(final, place))
    half = pi * sqrt(axis**3 / mu)
    return [first, Impulse(half, reached, before, after)]


def _place(mission: Mission, state: Array, normal: Array, final: Array) -> Array:
    """(3,) direction of the first burn: beside the periapsis, or where the planes meet next."""
    argument = getattr(mission.orbit, "argument_of_periapsis", None)
    if argument is not None:
        node = ascending_node(final)
        apsis = cos(argument) * node + sin(argument) * np.cross(final, node)
        beside = apsis - normal * (normal @ apsis)
        if np.linalg.norm(beside) > BESIDE:
            return unit(beside)
    line = np.cross(normal, final)
    if np.linalg.norm(line) < SAME_PLANE:
        ahead = unit(state[:3]) * cos(0.5) + np.cross(normal, unit(state[:3])) * sin(0.5)
        return unit(ahead)
    ends = (unit(line), -unit(line))
    return min(ends, key=lambda end: angle_to(state[:3], end, normal))


def angle_to(position: Array, place: Array, normal: Array) -> float:
    """Angle in rad ahead of a position, no less than `SOON`."""
    here = unit(position)
    angle = float(np.arctan2(np.cross(here, place) @ normal, here @ place)) % (2.0 * pi)
    return angle if angle > SOON else angle + 2.0 * pi


def unit(vector: Array) -> Array:
    """The direction of a vector."""
    return np.asarray(vector / np.linalg.norm(vector))


def with_burns_at(
    flight: Solution,
    flown: Sequence,
    planned: Sequence,
    mission: Mission,
    impulses_from: Callable[[Array, int], list[Impulse]],
) -> MeshedGuess | None:
    """A flight with the coasts and burns that ``planned`` has after it, each where an impulse is.

    ``impulses_from`` has one for each coast, from the (7,) state in which the flight ends.
    """
    count = len(flown.arcs)
    groups = _groups(planned.arcs[count:])
    if not groups or any(not burns for _, burns in groups):
        return None
    guess = flight.as_guess()
    state, time = guess.arcs[-1].states[-1, : MASS + 1].copy(), float(guess.instants[-1])
    state[MASS] = planned.arcs[count - 1].joint.mass(float(state[MASS]))
    pieces: list[FlownArc] = []
    late = 0.0
    for (coasts, burns), impulse in zip(groups, impulses_from(state, len(groups)), strict=True):
        seconds = _seconds(burns, float(state[MASS]), impulse)
        away = max(impulse.wait - late - 0.5 * sum(seconds), 2.0 * coasts[0].duration[0] + 1.0)
        push = impulse.position, impulse.direction
        for arc, length in zip((*coasts, *burns), (away, *seconds), strict=True):
            pieces.append(fly_pushed(arc, state, time, max(length, 1e-3), COAST_STEPS, push))
            state, time = pieces[-1].after(), float(pieces[-1].times[-1])
        late = 0.5 * sum(seconds)
        left = np.array([*impulse.position, *impulse.after, state[MASS]])
        state[:MASS] = fly_at_pitch(coasts[0], left, 0.0, late, COAST_STEPS).states[-1, :MASS]
    instants = np.concatenate((guess.instants, [one.times[-1] for one in pieces]))
    meshes = tuple(mesh_along(one) for one in pieces)
    arcs: tuple[ArcGuess, ...] = (*guess.arcs, *(arc_guess(one) for one in pieces))
    whole = (*(own.arc.mesh for own in flight.arcs), *meshes)
    free = free_numbers(mission, pieces[-1].states[-1])
    return MeshedGuess(whole, Guess(instants, arcs, free, near=True))


def _groups(
    arcs: tuple[FlightArc, ...],
) -> list[tuple[tuple[FlightArc, ...], tuple[FlightArc, ...]]]:
    """Each free coast with the arcs up to the next one."""
    starts = [k for k, arc in enumerate(arcs) if not (arc.burning or arc.fixed)]
    ends = [*starts[1:], len(arcs)]
    return [((arcs[a],), arcs[a + 1 : b]) for a, b in zip(starts, ends, strict=True)]


def _seconds(burns: tuple[FlightArc, ...], mass: float, impulse: Impulse) -> list[float]:
    """Lengths of the burns, by the rocket equation, the first ones as long as they can be."""
    left, found = float(np.linalg.norm(impulse.after - impulse.before)), []
    for arc in burns:
        if not arc.burning:
            found.append(arc.duration[0])
            continue
        thrust, flow = _push(arc)
        exhaust = thrust / flow
        needed = mass * (1.0 - np.exp(-max(left, 0.0) / exhaust)) / flow
        most = min(arc.duration[1], 0.98 * max(mass - arc.least_mass, 0.0) / flow)
        seconds = arc.duration[0] if arc.fixed else float(max(min(needed, most), 1.0))
        found.append(seconds)
        left -= exhaust * np.log(mass / max(mass - flow * seconds, 0.05 * mass))
        mass = arc.joint.mass(max(mass - flow * seconds, 0.05 * mass))
    return found


def _push(arc: FlightArc) -> tuple[float, float]:
    solid = arc.kind.core_curve
    if solid is not None:
        return solid.mean_thrust, solid.mass_flow
    return arc.parameters.thrust, arc.parameters.mass_flow


def with_early_end(plan: FlightPlan, circle: FlightPlan) -> FlightPlan:
    """The plan, the stage that reaches the circle free to leave the rest of its propellant."""
    stage = circle.inserting_stage
    if stage == plan.inserting_stage or plan.relights(stage):
        return plan
    return plan.cutting_early(stage)
