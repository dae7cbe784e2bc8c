"""A stretch that guidance steers: from where it takes over, or is lit again, to a cut-off."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.guided.guidance.explicit import Aimed, Phases
from ascentopt.guided.guidance.targets import Target
from ascentopt.guided.plan.planned_arc import PlannedArc
from ascentopt.guided.steps.rows import dot, unit
from ascentopt.rocket import Propulsion
from ascentopt.typing import Floats

_INSTANT = 1.0
"""s to the planned end of an arc below which a mean over it is the last throttle."""

Parts = tuple[Floats, Floats, Floats]
"""Lengths, accelerations and taus of J phases of N flights, each (J, N)."""

PIECES = 8
"""Of what is left of a solid motor's burn: with twice as many the place where it ends is foretold
the same to metres."""

NO_PUSH = 1e9
"""s: tau of a coast, on which nothing is burned."""


@dataclass(frozen=True, eq=False)
class Power:
    """Thrust in N and exhaust speed in m/s of a stage's engine as guidance believes them."""

    thrust: float
    exhaust_speed: float

    @classmethod
    def of(cls, engine: Propulsion) -> Power:
        """At full throttle in vacuum; a solid motor's mean."""
        return cls(engine.mean_thrust, engine.mean_thrust / engine.mass_flow)


@dataclass(frozen=True, eq=False)
class Leg:
    """One of them.

    Args:
        arcs: of the whole plan.
        first, last: places of its arcs.
        since: s into the first arc at which guidance begins.
        target: where the last arc ends.
        powers: of the stages.
        guess: what is aimed at where the leg begins as planned, in the frame of `local_frame`.
    """

    arcs: tuple[PlannedArc, ...]
    first: int
    last: int
    since: float
    target: Target
    powers: tuple[Power, ...]
    guess: Aimed

    def power(self, k: int) -> Power:
        """Of the stage that burns in an arc."""
        return self.powers[self.arcs[k].arc.stage]

    @property
    def planned_mass(self) -> float:
        """Kg aboard where the leg begins as planned."""
        flown = self.arcs[self.first].flown
        times = flown.times - flown.times[0]
        return float(np.interp(self.since, times, flown.states[:, 6]))

    @property
    def burn(self) -> float:
        """Seconds that something burns in it as planned."""
        burning = [one for one in self.arcs[self.first : self.last + 1] if one.arc.burning]
        return sum(one.length for one in burning) - self.since

    def along_velocity(self, states: Floats, ratio: Floats, mass: Floats) -> Aimed:
        """What leads to the target's speeds outward and ahead from where flights (N, 6+) are.

        In the last arc; `ratio` and `mass` as in `phases`.
        """
        out, ahead, _ = np.moveaxis(local_frame(states), 1, 0)
        radius = np.sqrt(dot(states[:, :3], states[:, :3]))
        climb, speed = self.target.speeds(radius, climb_rate(states))
        wanted = climb[:, None] * out + speed[:, None] * ahead - states[:, 3:6]
        missing, own = np.sqrt(dot(wanted, wanted)), self.power(self.last)
        tau = own.exhaust_speed * mass / (ratio * own.thrust)
        left = -tau * np.expm1(-missing / own.exhaust_speed)
        return Aimed(unit(wanted), np.zeros_like(wanted), np.asarray(left))

    def throttle(self, k: int, elapsed: Floats) -> Floats:
        """(N,) planned throttle at times (N,) into an arc; a solid motor's curve over its mean."""
        planned, own = self.arcs[k], self.power(k)
        shares = planned.flown.throttle
        if planned.solid:
            shares = planned.readings.mass_flow * own.exhaust_speed / own.thrust
        return np.asarray(np.interp(elapsed, planned.flown.times - planned.began, shares))

    def phases(self, k: int, ratio: Floats, mass: Floats, elapsed: Floats) -> Phases:
        """What is left of the leg in arc `k`, for flights in it.

        Args:
            k: the arc, in which something burns.
            ratio: (N,) of the thrust that was measured to the nominal one at the same throttle.
            mass: (N,) kg that guidance believes in now.
            elapsed: (N,) s since the arc began.
        """
        later = (self._later(j, k, ratio) for j in range(k + 1, self.last + 1))
        parts = [self._burn(k, ratio, mass, elapsed), *later]
        lengths, pushes, taus = (np.concatenate(column) for column in zip(*parts, strict=True))
        return Phases(lengths, pushes, taus, len(parts[-1][0]))

    def _later(self, j: int, k: int, ratio: Floats) -> Parts:
        """A phase to come: that of the same stage as measured."""
        planned, ones = self.arcs[j], np.ones_like(ratio)
        if not planned.arc.burning:
            return planned.length * ones[None], 0.0 * ones[None], NO_PUSH * ones[None]
        same = planned.arc.stage == self.arcs[k].arc.stage
        return self._burn(j, ratio if same else ones, planned.start[6] * ones, 0.0 * ones)

    def _burn(self, k: int, ratio: Floats, mass: Floats, elapsed: Floats) -> Parts:
        """What is left of a burn from so many seconds into it, in pieces of constant thrust.

        Of a motor whose thrust changes in several: where it pushes more the place moves more.
        """
        planned, own = self.arcs[k], self.power(k)
        times, masses = planned.flown.times - planned.began, planned.flown.states[:, 6]
        count = PIECES if planned.solid else 1
        edges = elapsed + np.linspace(0.0, 1.0, count + 1)[:, None] * (planned.length - elapsed)
        burned, seconds = -np.diff(np.interp(edges, times, masses), axis=0), np.diff(edges, axis=0)
        with np.errstate(divide="ignore", invalid="ignore"):
            mean = burned * own.exhaust_speed / (own.thrust * seconds)
        share = np.where(seconds.sum(axis=0) > _INSTANT, mean, self.throttle(k, elapsed))
        thrust = ratio * share * own.thrust
        left = np.maximum(mass - planned.end[6], 0.0)
        parts = np.where(burned.sum(axis=0) > 0.0, burned, 1.0)
        burns = left * parts / parts.sum(axis=0)
        heavy = mass - np.cumsum(burns, axis=0) + burns
        flow = thrust / own.exhaust_speed
        return burns / flow, thrust / heavy, heavy / flow

    def begin(self, states: Floats) -> Aimed:
        """What flights aim at first, as planned in their own frames."""
        frame = local_frame(states)
        count = len(states)
        p, rate = (np.einsum("j,njk->nk", one[0], frame) for one in (self.guess.p, self.guess.rate))
        return Aimed(p, rate, np.full(count, float(self.guess.left[0])))


def local_frame(states: Floats) -> Floats:
    """(N, 3, 3) unit vectors outward, ahead and along the momentum, of (N, 6+) states."""
    out = unit(states[:, :3])
    normal = unit(np.cross(states[:, :3], states[:, 3:6]))
    return np.stack([out, np.cross(normal, out), normal], axis=1)


def apoapsis_radius(mu: float, states: Floats) -> Floats:
    """(N,) m; infinite on open orbits."""
    latus, shape = _ellipse(mu, states)
    with np.errstate(divide="ignore"):
        return np.where(shape < 1.0, latus / np.maximum(1.0 - shape, 0.0), np.inf)


def periapsis_radius(mu: float, states: Floats) -> Floats:
    """(N,) m."""
    latus, shape = _ellipse(mu, states)
    return np.asarray(latus / (1.0 + shape))


def _ellipse(mu: float, states: Floats) -> tuple[Floats, Floats]:
    """(N,) semi-latus rectum in m, and eccentricity.

    By e cos nu = p/r - 1 and e sin nu = climb sqrt(p/mu), which a circle leaves its digits.
    """
    momentum = np.cross(states[:, :3], states[:, 3:6])
    latus = dot(momentum, momentum) / mu
    cosine = latus / np.sqrt(dot(states[:, :3], states[:, :3])) - 1.0
    sine = climb_rate(states) * np.sqrt(latus / mu)
    return latus, np.asarray(np.hypot(cosine, sine))


def energy(mu: float, states: Floats) -> Floats:
    """(N,) of the orbit, J/kg."""
    place, velocity = states[:, :3], states[:, 3:6]
    return np.asarray(0.5 * dot(velocity, velocity) - mu / np.sqrt(dot(place, place)))


def climb_rate(states: Floats) -> Floats:
    """(N,) m/s away from the centre."""
    return dot(states[:, :3], states[:, 3:6]) / np.sqrt(dot(states[:, :3], states[:, :3]))
