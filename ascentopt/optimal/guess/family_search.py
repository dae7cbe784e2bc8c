"""A first trajectory for the solver, flown and chosen without the user's help."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import Guess
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.guess.ballistic_coast import BallisticCoast, coast_and_burn
from ascentopt.optimal.guess.flown_arcs import STEPS_AN_ARC, FlownArc, part_between
from ascentopt.optimal.guess.pitch_family import (
    PitchFamily,
    Track,
    fly_arc,
    fly_arc_once,
    nominal_durations,
)
from ascentopt.optimal.problem.target.aim import (
    AimPoint,
    launch_plane,
    orbit_aim,
    state_in_orbit_near,
)
from ascentopt.optimal.problem.target.ellipse import orbit_start

EXPONENTS = np.geomspace(0.25, 1.5, 14)
FINAL_PITCHES = np.radians([-20.0, -8.0, 4.0, 16.0])
ZOOMS = 3
"""Rounds of a finer grid about the best member; each is three times finer than the last."""

BELOW_GROUND_PENALTY = 1e7
"""m/s that a member is set back for a dive by one radius: ten for a millionth, some metres."""

Aim = AimPoint | BallisticCoast
"""What members of the family are judged by."""


@dataclass(frozen=True, kw_only=True)
class InitialGuess:
    """What a guess aims at; another one gives another guess.

    Args:
        altitude_factor: on the altitude aimed at.
        solver_may_stray: whether the solver may leave the guess far behind at once, which suits a
            free coast; otherwise it goes down from it step by step.
    """

    altitude_factor: float = 1.0
    solver_may_stray: bool = False

    def __str__(self) -> str:
        where = f"aiming at {self.altitude_factor:g} of the altitude"
        return where + (", boldly" if self.solver_may_stray else "")


def fly_guess(
    sequence: Sequence,
    mission: Mission,
    start: InitialGuess = InitialGuess(),
) -> tuple[FlownArc, ...]:
    """Fly the best member of the family, then any free coast up to the orbit and the last burn.

    Args:
        sequence: without the fairing's drop, which is placed by looking at this flight.
        mission: where to.
        start: what to aim at.
    """
    coast, body = _free_coast(sequence), mission.body
    aim = orbit_aim(mission).with_altitude_times(start.altitude_factor, body)
    if coast is not None:
        loft = BallisticCoast.of(sequence, coast, aim, mission)
        climb = _best_member(sequence.arcs[:coast], sequence, mission, loft)
        flown = climb + coast_and_burn(sequence.arcs[coast:], climb[-1], loft)
        if not any(_sinks(arc, sequence) for arc in flown[coast:]):
            return flown
        # Too weak for its weight: it has to go on burning, and coasts for a second at first.
    return _best_member(sequence.arcs, sequence, mission, aim)


def speed_missing_before_coast(sequence: Sequence, mission: Mission, start: InitialGuess) -> float:
    """Speed in m/s that the best member of the family misses before its coast to the last burn.

    Zero where there is no coast, for then nothing is known before the burn.
    """
    coast = _free_coast(sequence)
    if coast is None:
        return 0.0
    loft = BallisticCoast.of(
        sequence,
        coast,
        orbit_aim(mission).with_altitude_times(start.altitude_factor, mission.body),
        mission,
    )
    return _best_flight(sequence.arcs[:coast], sequence, mission, loft).miss


def with_virtual_arrival(guess: Guess, mission: Mission, *, near: bool) -> Guess:
    """The guess with the virtual impulse and shift that bring its end into the orbit, or near it.

    What the program starts from is then a flight, with a price, and no violation to be mended.
    ``near`` keeps the solver close to it.
    """
    end = guess.arcs[-1].states[-1]
    there = state_in_orbit_near(mission, end[: MASS + 1])
    gap = there - end[:MASS]
    free = np.concatenate((gap[3:], gap[:3], [0.0], orbit_start(mission, there)))
    return replace(guess, free=free, near=near)


def _free_coast(sequence: Sequence) -> int | None:
    """Index of the coast of free length before the last burn; other ones begin short."""
    before = len(sequence.arcs) - 2
    return before if before > 0 and sequence.arcs[before].free_coast else None


def _best_member(
    arcs: tuple[FlightArc, ...],
    sequence: Sequence,
    mission: Mission,
    aim: Aim,
) -> tuple[FlownArc, ...]:
    """What the best of the family flies."""
    return _best_flight(arcs, sequence, mission, aim).arcs()


def _best_flight(
    arcs: tuple[FlightArc, ...],
    sequence: Sequence,
    mission: Mission,
    aim: Aim,
) -> _Flight:
    """Fly grids of members, each about the best of the last, and keep the best of all."""
    search = _Search(arcs, sequence, aim, launch_plane(sequence, mission))
    exponents, finals = np.log(EXPONENTS), FINAL_PITCHES
    best = search.fly(exponents, finals)
    reach = np.array([exponents[1] - exponents[0], finals[1] - finals[0]])
    for _ in range(ZOOMS):
        offsets = np.linspace(-0.8, 0.8, 5)
        nearer = search.fly(best.log_exponent + reach[0] * offsets, best.final + reach[1] * offsets)
        best = min(best, nearer, key=lambda flight: flight.miss)
        reach = reach / 3.0
    return best


@dataclass(frozen=True, eq=False)
class _Flight:
    """The best of a grid: missing speed in m/s, its parameters, and its tracks.

    It is the ``member`` of them, and ends at a fractional ``step`` of the last.
    """

    miss: float
    log_exponent: float
    final: float
    flown: tuple[tuple[FlightArc, Track], ...]
    member: int
    step: float

    def arcs(self) -> tuple[FlownArc, ...]:
        """What it flew."""
        *before, last = (_member(arc, track, self.member) for arc, track in self.flown)
        return (*before, _ended(last, self.step))


@dataclass(frozen=True, eq=False)
class _Search:
    arcs: tuple[FlightArc, ...]
    sequence: Sequence
    aim: Aim
    normal: Array

    def fly(self, log_exponents: Array, finals: Array) -> _Flight:
        """Fly every pair of parameters; the last arc ends where it comes nearest to the aim."""
        exponent, final = (grid.ravel() for grid in np.meshgrid(log_exponents, finals))
        durations = nominal_durations(self.arcs, self.sequence)
        upright = [arc.kind.guidance is Guidance.VERTICAL for arc in self.arcs]
        first = float(np.dot(upright, durations))
        family = PitchFamily(np.exp(exponent), final, self.normal, first, float(sum(durations)))
        tracks = _fly(self.arcs, durations, family, self.sequence.initial_state())
        misses = self.aim.miss(tracks[-1].states) + BELOW_GROUND_PENALTY * self._buried(tracks)
        step, member, miss = _nearest(misses)
        numbers = float(exponent[member]), float(final[member])
        flown = tuple(zip(self.arcs, tracks, strict=True))
        return _Flight(miss, *numbers, flown, member, step)

    def _buried(self, tracks: list[Track]) -> Array:
        """(members,) how far each dives below the pad, as a fraction of the radius."""
        with np.errstate(over="ignore"):  # one that falls to the centre comes out anywhere
            radii = [np.linalg.norm(track.states[:, :3], axis=1).min(axis=0) for track in tracks]
        pad = float(np.linalg.norm(self.sequence.position))
        return np.asarray(
            np.nan_to_num(np.maximum(1.0 - np.min(radii, axis=0) / pad, 0.0), nan=1.0)
        )


def _nearest(misses: Array) -> tuple[float, int, float]:
    """Fractional step, member and miss of the least of (steps, members) misses.

    Between steps the squared miss is close to a parabola through the least and its neighbours.
    """
    squares = np.where(np.isfinite(misses), misses, np.inf) ** 2
    row, member = np.unravel_index(int(np.argmin(squares[1:])), squares[1:].shape)
    k, column = int(row) + 1, squares[:, member]
    if k + 1 >= len(column) or not np.all(np.isfinite(column[k - 1 : k + 2])):
        return float(k), int(member), float(np.sqrt(column[k]))
    left, middle, right = column[k - 1 : k + 2]
    shift = 0.5 * (left - right) / max(left - 2.0 * middle + right, 1e-12)
    shift = float(np.clip(shift, -0.9, 0.9))
    least = middle - 0.25 * (left - right) * shift
    return k + shift, int(member), float(np.sqrt(max(least, 0.0)))


def _ended(flown: FlownArc, step: float) -> FlownArc:
    """The arc up to a fractional step."""
    whole = np.arange(len(flown.times), dtype=float)
    return part_between(flown, float(flown.times[0]), float(np.interp(step, whole, flown.times)))


def _fly(
    arcs: tuple[FlightArc, ...], durations: list[float], family: PitchFamily, start: Array
) -> list[Track]:
    state, time, tracks = np.repeat(start[:, None], family.size, axis=1), 0.0, []
    together = True  # upright from the pad: what one member does, all do
    for arc, duration in zip(arcs, durations, strict=True):
        together = together and arc.kind.guidance is Guidance.VERTICAL
        fly = fly_arc_once if together else fly_arc
        tracks.append(fly(arc, family, time, duration, state, STEPS_AN_ARC))
        time, state = time + duration, tracks[-1].states[-1].copy()
        after = arc.joint.mass_after
        state[MASS] = after if after is not None else state[MASS] - (arc.joint.mass_drop or 0.0)
    return tracks


def _member(arc: FlightArc, track: Track, member: int) -> FlownArc:
    return FlownArc(arc, track.times, track.states[:, :, member], track.directions(member))


def _sinks(flown: FlownArc, sequence: Sequence) -> bool:
    """Whether an arc that begins in the sky loses most of its height above the pad."""
    radii, pad = np.linalg.norm(flown.states[:, :3], axis=1), np.linalg.norm(sequence.position)
    return not bool(radii.min() - pad > 0.3 * max(radii[0] - pad, 0.0) and radii.max() < 1e3 * pad)
