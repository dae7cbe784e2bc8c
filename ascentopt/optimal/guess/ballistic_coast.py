"""Burn, coast up, burn at the top: where to cut off, and the coast and burn that follow.

A vehicle whose last burn is short, or whose orbit is high, climbs on its momentum and burns again
where it has reached the height of the orbit, be that a minute or half a revolution later.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import acos, atan2, exp, log, pi, sin, sqrt

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.guess.flown_arcs import (
    COAST_STEPS,
    STEPS_AN_ARC,
    FlownArc,
    fly_at_pitch,
)
from ascentopt.optimal.problem.target.aim import AimPoint
from ascentopt.world.orbital_elements import inverse_semi_major_axis

HEIGHT_WEIGHT = 8.0
"""A height that is not reached costs this many times the speed that drifts across it in the time
of a radian of the orbit: dear enough to be reached before all else."""

FALLING_PENALTY = 1e4
"""m/s added where the flight falls already: there is no top to coast to."""


@dataclass(frozen=True)
class BallisticCoast:
    """The orbit's lowest point as something to coast up to.

    Attributes:
        aim: its radius and speed.
        mu: of the body, m^3/s^2.
        exhaust: speed of the stage that burns last, m/s; flow: its kg/s.
        empty: its mass with all above it and no propellant, kg.
        at_end: whether the burn before the coast ends by itself, and the flight can only be judged
            there.
        full: the mass with which the last burn begins, kg, where that burns all that it has.
        left_behind: whether what the burn before the coast leaves is dropped, and saves nothing.
    """

    aim: AimPoint
    mu: float
    exhaust: float
    flow: float
    empty: float
    at_end: bool
    full: float | None = None
    left_behind: bool = False

    @classmethod
    def of(cls, sequence: Sequence, coast: int, aim: AimPoint, mission: Mission) -> BallisticCoast:
        """For the arc ``coast`` of a sequence and the burn after it."""
        burn = sequence.arcs[coast + 1]
        before = next(arc for arc in reversed(sequence.arcs[:coast]) if arc.burning)
        solid = burn.kind.core_curve
        thrust = burn.parameters.thrust if solid is None else solid.mean_thrust
        flow = burn.parameters.mass_flow if solid is None else solid.mass_flow
        dropped = before.stage != burn.stage
        return cls(
            aim=aim,
            mu=mission.body.gravitational_parameter,
            exhaust=thrust / flow,
            flow=flow,
            empty=burn.least_mass,
            at_end=dropped and before.fixed and solid is None,
            full=None if solid is None else burn.least_mass + solid.propellant_mass,
            left_behind=dropped and not before.fixed,
        )

    def miss(self, states: Array) -> Array:
        """(k, members) speed in m/s used and to be used, of (k, 7, members) states at cut-off."""
        found = self._burns(states)
        if self.full is not None:
            has = self.exhaust * log(self.full / self.empty)
            total = np.abs(found.speed - has) + HEIGHT_WEIGHT * found.short
            return np.asarray(total + np.where(found.falling, FALLING_PENALTY, 0.0))
        total = found.speed + HEIGHT_WEIGHT * found.short
        if not self.left_behind:
            total = total - self.exhaust * np.log(np.maximum(states[:, MASS] / self.empty, 1e-6))
        total = total - total.min() + np.where(found.falling, FALLING_PENALTY, 0.0) + 1.0
        if self.at_end:
            total[:-1] = np.inf
        return np.asarray(total)

    def plan(self, state: Array) -> LastBurn:
        """The coast from (7,) ``state`` and the burn centred on where it meets the orbit."""
        found = self._burns(state[None, :, None])
        time = _time_to_radius(state, self.mu, float(found.meets[0, 0]))
        burned = float(state[MASS]) * (1.0 - exp(-float(found.speed[0, 0]) / self.exhaust))
        return LastBurn(time, burned, atan2(float(found.upward[0, 0]), float(found.along[0, 0])))

    def _burns(self, states: Array) -> _Burns:
        """The last burns of (k, 7, members) states at cut-off."""
        position, velocity = states[:, :3], states[:, 3:6]
        mass = states[:, MASS] if self.full is None else self.full
        radius = np.linalg.norm(position, axis=1)
        climb = (position * velocity).sum(axis=1) / radius
        level = np.sqrt(np.maximum((velocity**2).sum(axis=1) - climb**2, 1.0))
        meets = self._meets(radius, climb, level)
        arriving = radius * level / meets
        along = self.aim.speed - arriving
        # Slower than a circle, the vehicle sinks while it burns: half of what it lacks at first.
        lacking = np.maximum(self.mu / meets**2 - arriving**2 / meets, 0.0)
        seconds = mass / self.flow * (1.0 - np.exp(-np.abs(along) / self.exhaust))
        upward = 0.5 * lacking * seconds - self._climb(radius, climb, level, meets)
        short = np.maximum(self.aim.radius - meets, 0.0) * self.aim.speed / self.aim.radius
        return _Burns(meets, along, upward, short, climb < 0.0)

    def _meets(self, radius: Array, climb: Array, level: Array) -> Array:
        """Radius at which the coast comes nearest to the height of the orbit, m."""
        momentum = radius * level
        energy = 0.5 * (level**2 + climb**2) - self.mu / radius
        squared = np.maximum(1.0 + 2.0 * energy * (momentum / self.mu) ** 2, 0.0)
        top = momentum**2 / self.mu / np.maximum(1.0 - np.sqrt(squared), 1e-9)
        top = np.where(climb > 0.0, np.maximum(top, radius), radius)
        return np.asarray(np.minimum(top, np.maximum(self.aim.radius, radius)))

    def _climb(self, radius: Array, climb: Array, level: Array, meets: Array) -> Array:
        """Speed away from the centre there, m/s."""
        gained = 2.0 * self.mu * (1.0 / meets - 1.0 / radius)
        squared = level**2 + climb**2 + gained - (radius * level / meets) ** 2
        return np.asarray(np.sqrt(np.maximum(squared, 0.0)))


@dataclass(frozen=True, eq=False)
class _Burns:
    """Where flights meet the orbit's height (m), and what speed is missing there; (k, members).

    ``along`` the flight and ``upward`` in m/s, height that is ``short`` as m/s; ``falling`` flags.
    """

    meets: Array
    along: Array
    upward: Array
    short: Array
    falling: Array

    @property
    def speed(self) -> Array:
        """Of the burn, m/s."""
        return np.asarray(np.hypot(self.along, self.upward))


@dataclass(frozen=True)
class LastBurn:
    """The last burn: s from the cut-off to its middle, kg it burns, pitch in rad."""

    time: float
    burned: float
    pitch: float


def _time_to_radius(state: Array, mu: float, radius: float) -> float:
    """Seconds on the osculating ellipse until it has risen to a radius, or to its apoapsis."""
    position, velocity = state[:3], state[3:6]
    here = float(np.linalg.norm(position))
    axis = 1.0 / inverse_semi_major_axis(mu, here, float(velocity @ velocity))
    if not 0.0 < axis < 1e3 * here:
        return max(radius - here, 0.0) / max(float(position @ velocity) / here, 1.0)
    e_cos, e_sin = 1.0 - here / axis, float(position @ velocity) / sqrt(mu * axis)
    shape = sqrt(e_cos**2 + e_sin**2)
    if shape < 1e-6:
        return pi / sqrt(mu / axis**3)
    now = atan2(e_sin, e_cos)
    then = acos(float(np.clip((1.0 - radius / axis) / shape, -1.0, 1.0)))
    return ((then - shape * sin(then)) - (now - shape * sin(now))) % (2.0 * pi) / sqrt(mu / axis**3)


def coast_and_burn(
    arcs: tuple[FlightArc, ...], before: FlownArc, loft: BallisticCoast
) -> tuple[FlownArc, ...]:
    """Coast up to the orbit's height, and burn in the direction of the speed that is missing."""
    coast, burn = arcs
    last = loft.plan(before.after())
    seconds = max(min(last.burned / burn.parameters.mass_flow, 0.95 * burn.duration[1]), 0.5)
    seconds = burn.duration[1] if burn.fixed else seconds
    away = min(max(last.time - 0.5 * seconds, coast.duration[0], 1.0), 0.95 * coast.duration[1])
    drift = fly_at_pitch(coast, before.after(), float(before.times[-1]), away, COAST_STEPS)
    high, time = drift.states[-1], float(drift.times[-1])
    return drift, fly_at_pitch(burn, high, time, seconds, STEPS_AN_ARC, pitch=last.pitch)
