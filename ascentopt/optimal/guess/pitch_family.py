"""A family of simple pitch programmes, flown quickly: where guesses come from.

Pitch above the local horizontal falls from vertical to a final angle as
    theta = theta_f + (pi/2 - theta_f) (1 - s^p),   s = time / time of all burns,
in a fixed plane; where the air is dense the thrust is drawn towards the air-relative velocity, so
that the flight nears a gravity turn and bears little load across its axis. The members of the
family (p, theta_f) are flown side by side by a Runge-Kutta scheme of fixed steps; accuracy is not
the point, a feasible neighbourhood is.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache
from math import log, pi, sqrt

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.forces import Instant, forces
from ascentopt.flight.dynamics.state import MASS, motion
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.typing import Expr
from ascentopt.world import Atmosphere
from ascentopt.world.air import air_velocity
from ascentopt.world.ellipsoid import altitude, up

DENSE = 1500.0
"""Pa. Dynamic pressure at which the thrust lies midway between programme and air flow: beyond ten
times it the angle of attack is a tenth of what the programme asks."""


@dataclass(frozen=True, eq=False)
class PitchFamily:
    """Pitch programmes in a plane.

    Attributes:
        exponent, final_pitch: (members,) p and theta_f (rad).
        normal: (3,) unit normal of the plane, along the angular momentum.
        start, end: times between which the pitch falls, s.
    """

    exponent: Array
    final_pitch: Array
    normal: Array
    start: float
    end: float

    @property
    def size(self) -> int:
        """Number of members."""
        return len(self.exponent)

    def columns(self) -> Array:
        """(7, members) what the step function takes."""
        shared = np.array([*self.normal, self.start, self.end])
        own = np.vstack((self.exponent, self.final_pitch))
        return np.vstack((own, np.repeat(shared[:, None], self.size, axis=1)))


@dataclass(frozen=True, eq=False)
class Track:
    """An arc flown by all members at once.

    Attributes:
        kind: of the arc, in plain air.
        family: who flew it.
        times: (k,) s; states: (k, 7, members).
    """

    kind: ArcKind
    family: PitchFamily
    times: Array
    states: Array

    def directions(self, member: int) -> Array:
        """(k, 3) thrust directions of one member."""
        states, programme = self.states[:, :, member].T, self.family.columns()[:, member]
        look = _pointing(self.kind).map(len(self.times))
        programmes = np.repeat(programme[:, None], len(self.times), axis=1)
        return np.array(look(states, self.times[None, :], programmes)).T


def fly_arc(
    arc: FlightArc, family: PitchFamily, start: float, duration: float, state: Array, steps: int
) -> Track:
    """Fly one arc from (7, members) ``state`` in ``steps`` equal steps."""
    step = duration / steps
    times: Array = np.asarray(start + step * np.arange(steps + 1), dtype=np.float64)
    return fly_arc_at(arc, family, times, state)


def fly_arc_at(arc: FlightArc, family: PitchFamily, times: Array, state: Array) -> Track:
    """Fly one arc from (7, members) ``state`` in steps from one of the ``times`` to the next."""
    kind, size, steps = with_plain_air(arc.kind), family.size, len(times) - 1
    clocks = np.vstack((times[:-1], times[:-1] - times[0], np.diff(times)))
    numbers = np.repeat(np.array(arc.numbers)[:, None], size * steps, axis=1)
    found = _steps(kind, size, steps)(
        state, np.repeat(clocks, size, axis=1), np.tile(family.columns(), steps), numbers
    )
    flown = np.array(found).reshape(len(state), steps, size).transpose(1, 0, 2)
    return Track(kind, family, times, np.concatenate((state[None], flown)))


def fly_arc_once(
    arc: FlightArc, family: PitchFamily, start: float, duration: float, state: Array, steps: int
) -> Track:
    """As `fly_arc` where all members fly alike, from the same state: flown once."""
    first = replace(family, exponent=family.exponent[:1], final_pitch=family.final_pitch[:1])
    track = fly_arc(arc, first, start, duration, state[:, :1], steps)
    return replace(track, family=family, states=np.repeat(track.states, family.size, axis=2))


@lru_cache(maxsize=64)
def with_plain_air(kind: ArcKind) -> ArcKind:
    """The same kind in isothermal air of equal density at the ground and at a fiftieth of it.

    A table costs more than an exponential, and a guess does not need it.
    """
    air = kind.body.atmosphere
    if air is None:
        return kind
    grid = np.linspace(0.0, air.ceiling, 400)
    logs = np.log(air.density(grid))
    height = float(np.interp(log(50.0), logs[0] - logs, grid)) / log(50.0)
    plain = Atmosphere.exponential(
        surface_density=float(air.density(0.0)),
        scale_height=height,
        ceiling=air.ceiling,
        surface_temperature=288.15,
        gas_constant=float(air.pressure(0.0) / air.density(0.0)) / 288.15,
        heat_capacity_ratio=air.heat_capacity_ratio,
    )
    return replace(kind, body=replace(kind.body, atmosphere=plain))


@lru_cache(maxsize=64)
def _steps(kind: ArcKind, size: int, steps: int) -> ca.Function:
    """As `_step`, for all members and all steps at once, steps slowest."""
    return _step(kind).map(size).mapaccum(steps)


@lru_cache(maxsize=64)
def _step(kind: ArcKind) -> ca.Function:
    """One classical Runge-Kutta step: (state, (time, elapsed, step), member, numbers) -> state."""
    slope = _slope(kind)
    state, clock = ca.SX.sym("state", 7), ca.SX.sym("clock", 3)
    member, numbers = ca.SX.sym("member", 7), ca.SX.sym("numbers", len(kind.numbers))
    step = clock[2]
    half, whole = ca.vertcat(step / 2, step / 2, 0), ca.vertcat(step, step, 0)
    k1 = slope(state, clock, member, numbers)
    k2 = slope(state + step / 2 * k1, clock + half, member, numbers)
    k3 = slope(state + step / 2 * k2, clock + half, member, numbers)
    k4 = slope(state + step * k3, clock + whole, member, numbers)
    after = state + step / 6 * (k1 + 2 * k2 + 2 * k3 + k4)
    return ca.Function("step", [state, clock, member, numbers], [after])


@lru_cache(maxsize=64)
def _slope(kind: ArcKind) -> ca.Function:
    """(state, (time, elapsed, step), member, numbers) -> rates."""
    state, clock = ca.SX.sym("state", 7), ca.SX.sym("clock", 3)
    member, numbers = ca.SX.sym("member", 7), ca.SX.sym("numbers", len(kind.numbers))
    instant = Instant(
        time=clock[0],
        elapsed=clock[1],
        position=state[:3],
        velocity=state[3:6],
        mass=state[MASS],
        direction=_direction(kind, state, clock[0], member),
        throttle=1.0,
        numbers=numbers,
    )
    value = ca.cse(motion(forces(kind, instant)))  # the air is looked up for the direction, too
    return ca.Function("slope", [state, clock, member, numbers], [value])


@lru_cache(maxsize=64)
def _pointing(kind: ArcKind) -> ca.Function:
    """(state, time, member) -> thrust direction."""
    state, time, member = ca.SX.sym("state", 7), ca.SX.sym("time"), ca.SX.sym("member", 7)
    value = _direction(kind, state, time, member)
    return ca.Function("pointing", [state, time, member], [value])


def _direction(kind: ArcKind, state: Expr, time: Expr, member: Expr) -> Expr:
    exponent, final, normal = member[0], member[1], member[2:5]
    share = ca.fmin(ca.fmax((time - member[5]) / (member[6] - member[5]), 1e-9), 1.0)
    pitch = final + (pi / 2 - final) * (1.0 - share**exponent)
    vertical = up(kind.body, state[:3])
    along = ca.cross(normal, vertical)
    along = along / ca.sqrt(ca.sumsqr(along) + 1e-12)
    programme = ca.cos(pitch) * along + ca.sin(pitch) * vertical
    return _drawn_towards_motion(kind, state, programme)


def _drawn_towards_motion(kind: ArcKind, state: Expr, programme: Expr) -> Expr:
    """The programme, drawn towards the air-relative velocity as dynamic pressure grows."""
    if kind.body.atmosphere is None:
        return programme
    wind = air_velocity(kind.body, state[:3], state[3:6])
    speed = ca.sqrt(ca.sumsqr(wind) + 1.0)
    density = kind.body.atmosphere.state(altitude(kind.body, state[:3])).density
    load = 0.5 * density * speed**2 / DENSE
    mixed = (programme + load * wind / speed) / (1.0 + load)
    return mixed / ca.sqrt(ca.sumsqr(mixed) + 1e-12)


def nominal_durations(arcs: tuple[FlightArc, ...], sequence: Sequence) -> list[float]:
    """Lengths of arcs at full throttle: complete burns, the rise as long as it takes."""
    found: list[float] = []
    mass = sequence.mass
    for k, arc in enumerate(arcs):
        flow = _flow(arc)
        found.append(_nominal(arc, k, found, sequence, (mass - arc.least_mass, flow)))
        mass = arc.joint.mass(mass - flow * found[-1])
    return found


def _flow(arc: FlightArc) -> float:
    """Propellant flow in kg/s at full throttle, that of solid motors averaged over their burns."""
    if not arc.burning:
        return 0.0
    core = 1.0 if arc.kind.core_curve is None else arc.kind.core_curve.mass_flow
    sides = sum(count * motor.mass_flow for motor, count in arc.kind.side_curves)
    return arc.parameters.mass_flow * core + arc.parameters.side_mass_flow + sides


def _nominal(
    arc: FlightArc, k: int, before: list[float], sequence: Sequence, tank: tuple[float, float]
) -> float:
    """Length of arc ``k``; ``tank`` holds what can still be burned, kg, and the flow, kg/s."""
    if arc.fixed:
        return arc.duration[0]
    if arc.rise is not None:
        return min(_rise_time(arc, sequence), 0.5 * arc.duration[1])
    for span in sequence.spans:
        if span.last == k + 1 and span.shortest == span.longest:
            return max(span.longest - sum(before[span.first :]), 1.0)
    if not arc.burning:
        return max(arc.duration[0], 1.0)
    left, flow = tank
    return float(min(max(left / flow, 1.0), arc.duration[1]))


def _rise_time(arc: FlightArc, sequence: Sequence) -> float:
    """Seconds to gain the height at the acceleration of lift-off."""
    weight = arc.kind.body.gravitational_parameter / float(np.sum(np.square(sequence.position)))
    own, core = arc.parameters, arc.kind.core_curve
    thrust = own.thrust if core is None else core.mean_thrust
    thrust += own.side_thrust + sum(n * m.mean_thrust for m, n in arc.kind.side_curves)
    push = max(thrust / sequence.mass - weight, 0.05 * weight)
    return sqrt(2.0 * (arc.rise or 0.0) / push)
