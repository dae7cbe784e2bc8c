"""Explicit guidance: Newton's method on the predicted end of the burn, for many flights at once."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np

from ascentopt.guided.guidance.predictor import (
    PREDICTED,
    UNKNOWN,
    PhaseForm,
    phase_function,
)
from ascentopt.guided.guidance.targets import (
    CLIMB,
    CONDITIONS,
    ENDED,
    PLANE,
    RADIUS,
    SPEED,
    Target,
    target_function,
)
from ascentopt.guided.steps.rows import OverRows, dot, unit
from ascentopt.typing import Floats
from ascentopt.world.body import Body

FULLY = 0.9
"""Of tau: the longest burn that is predicted. No stage has less than the tenth left then."""

TURN = 0.3
"""rad by which one correction turns p at most, and the share by which it changes the burn: farther
off the slopes say little."""


@dataclass
class Aimed:
    """What guidance believes of N flights, and is about to do.

    Attributes:
        p, rate: (N, 3) the primer and its rate now.
        left: (N,) s of the last burn, from now or from its ignition.
        residual: (N,) size of what the last correction found to be wrong.
    """

    p: Floats
    rate: Floats
    left: Floats
    residual: Floats = field(default_factory=lambda: np.zeros(0))

    def rows(self, chosen: np.ndarray) -> Aimed:
        """Of some flights."""
        return Aimed(self.p[chosen], self.rate[chosen], self.left[chosen])


@dataclass(frozen=True)
class Phases:
    """What burns from now to the end of the last burn, for N flights.

    Args:
        lengths: (J, N) s; that of the last phase is overruled by what is solved for.
        accelerations: (J, N) m/s^2 where each begins; zero on a coast.
        taus: (J, N) s, exhaust speed over acceleration.
        pieces: how many of them the last burn is made of.
    """

    lengths: Floats
    accelerations: Floats
    taus: Floats
    pieces: int = 1

    @property
    def last_burn(self) -> Floats:
        """(N,) s of it."""
        return np.asarray(self.lengths[-self.pieces :].sum(axis=0))

    def of(self, chosen: np.ndarray) -> Phases:
        """Of some flights."""
        columns = self.lengths, self.accelerations, self.taus
        lengths, pushes, taus = (one[:, chosen] for one in columns)
        return Phases(lengths, pushes, taus, self.pieces)


class Predictor:
    """Corrects what is aimed at; not to be shared by threads."""

    def __init__(self, body: Body, target: Target, steps: int) -> None:
        self.target = target
        self._phase = OverRows(phase_function(PhaseForm(body, steps)))
        self._end = OverRows(target_function(target))

    def ends(self, states: Floats, aimed: Aimed, phases: Phases) -> tuple[Floats, Floats]:
        """(N, 6) conditions and (N, 6, 7) their slopes by the unknowns."""
        count, last = len(states), len(phases.lengths) - 1
        law = np.concatenate([aimed.p, aimed.rate], axis=1)
        found = np.zeros((count, PREDICTED * (1 + UNKNOWN)))
        found[:, :PREDICTED] = states[:, :PREDICTED]
        begin = np.zeros(count)
        for j in range(last + 1):
            free = j == last and self.target.free_end
            lengths = aimed.left if free else phases.lengths[j]
            unknown = np.full(count, float(free))
            burn = begin, lengths, phases.accelerations[j], phases.taus[j], unknown
            x, slopes = found[:, :PREDICTED], found[:, PREDICTED:]
            found = self._phase(x, slopes, law, np.stack(burn, axis=1))
            begin = begin + lengths
        return self._at_end(found, aimed, begin)

    def _at_end(self, found: Floats, aimed: Aimed, time: Floats) -> tuple[Floats, Floats]:
        count = len(found)
        p = aimed.p + time[:, None] * aimed.rate
        ends = self._end(np.concatenate([found[:, :PREDICTED], p, aimed.rate], axis=1))
        slopes = np.zeros((count, UNKNOWN, ENDED))
        slopes[:, :, :PREDICTED] = found[:, PREDICTED:].reshape(count, UNKNOWN, PREDICTED)
        three = np.arange(3)
        slopes[:, three, 6 + three] = 1.0
        slopes[:, 3 + three, 6 + three] = time[:, None]
        slopes[:, 3 + three, 9 + three] = 1.0
        slopes[:, 6, 6:9] = aimed.rate
        by_end = ends[:, CONDITIONS:].reshape(count, ENDED, CONDITIONS)
        return ends[:, :CONDITIONS], np.swapaxes(slopes @ by_end, 1, 2)

    def correct(self, states: Floats, aimed: Aimed, phases: Phases, *, velocity: bool) -> Aimed:
        """One step of Newton's method.

        Args:
            states: (N, 6+) position and velocity now.
            aimed: as before.
            phases: as predicted.
            velocity: whether only the velocity at the end is still steered: seconds before it the
                place is what it is, and to mend it would ask for ever more.
        """
        conditions, slopes = self.ends(states, aimed, phases)
        wrong, matrix = self._system(conditions, slopes, aimed, phases)
        if velocity:
            self._only_velocity(wrong, matrix, states)
        change = np.asarray(-np.linalg.solve(matrix, wrong[..., None])[..., 0], dtype=np.float64)
        change *= _damping(change, aimed)[:, None]
        most = FULLY * phases.taus[-1] if self.target.free_end else np.inf
        left = np.clip(aimed.left + change[:, -1], 0.0, most)
        p = aimed.p + change[:, :3]
        rate = aimed.rate + change[:, 3:6]
        return Aimed(p, rate, left, np.abs(conditions).max(axis=1))

    def _system(
        self, conditions: Floats, slopes: Floats, aimed: Aimed, phases: Phases
    ) -> tuple[Floats, Floats]:
        """(N, 7) what is wrong and (N, 7, 7) its slopes: the length of p, and the conditions."""
        count = len(conditions)
        wrong = np.zeros((count, UNKNOWN))
        matrix = np.zeros((count, UNKNOWN, UNKNOWN))
        wrong[:, 0] = 0.5 * ((aimed.p**2).sum(axis=1) - 1.0)
        matrix[:, 0, :3] = aimed.p
        wrong[:, 1:], matrix[:, 1:] = conditions, slopes
        if not self.target.free_end:
            wrong[:, 1 + SPEED] = aimed.left - phases.last_burn
            matrix[:, 1 + SPEED] = 0.0
            matrix[:, 1 + SPEED, -1] = 1.0
        return wrong, matrix

    def _only_velocity(self, wrong: Floats, matrix: Floats, states: Floats) -> None:
        """Keep the rate of p; of p what the velocity asks for, and nothing out of a free plane.

        The velocity is the one that is in the orbit from where the burn ends.
        """
        target = self.target
        radius = target.radius * (1.0 + wrong[:, 1 + RADIUS])
        climb, speed = target.speeds(radius, dot(states[:, :3], states[:, 3:6]))
        wrong[:, 1 + CLIMB] += (target.climb - climb) / target.pace
        if target.free_end:
            wrong[:, 1 + SPEED] += (target.speed - speed) / target.pace
        kept = [1, 1 + PLANE + 1, 1 + PLANE + 2]
        wrong[:, kept] = 0.0
        matrix[:, kept] = 0.0
        matrix[:, kept, [3, 4, 5]] = 1.0
        for row in (1 + CLIMB, 1 + SPEED, 1 + PLANE):
            matrix[:, row, 3:6] = 0.0
        if not self.target.plane.steers_velocity:
            wrong[:, 1 + PLANE] = 0.0
            matrix[:, 1 + PLANE] = 0.0
            matrix[:, 1 + PLANE, :3] = unit(np.cross(states[:, :3], states[:, 3:6]))


def _damping(change: Floats, aimed: Aimed) -> Floats:
    """(N,) shares of a correction that are taken."""
    turn = np.sqrt((change[:, :3] ** 2).sum(axis=1))
    longer = np.abs(change[:, -1]) / np.maximum(aimed.left, 1.0)
    most = np.maximum(turn, longer)
    return np.asarray(np.minimum(1.0, TURN / np.maximum(most, 1e-12)))


def fastest_turn(aimed: Aimed) -> Floats:
    """(N,) rad/s at which the thrust turns at most from now to the cut-off.

    p moves along a straight line; it turns fastest where it passes nearest to zero.
    """
    p, rate, left = aimed.p, aimed.rate, aimed.left
    squared = np.maximum((rate**2).sum(axis=1), 1e-300)
    nearest = np.clip(-(p * rate).sum(axis=1) / squared, 0.0, np.maximum(left, 0.0))
    there = p + nearest[:, None] * rate
    across = np.linalg.norm(np.cross(p, rate), axis=1)
    return np.asarray(across / np.maximum((there**2).sum(axis=1), 1e-300))
