"""Fly one arc after another: events, phases of the law, and what may go wrong on the way."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from functools import partial
from itertools import pairwise
from math import hypot, inf
from numbers import Real

import numpy as np

from ascentopt.arguments import asked, is_ours, told, unit_vector
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.numeric_rates import MotionRates, step_boundaries
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.ending import AfterDurationOrEmpty, AtEmpty, Ending, value_of
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.results.failure import (
    EndingNotReached,
    FlightError,
    HitGround,
    IntegrationFailed,
    OutOfPropellant,
    place_text,
)
from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.flight.simulation.commanded_rates import WrittenRates, commands, idle
from ascentopt.flight.simulation.integrator import (
    Rates,
    StepFailure,
    Stretch,
    Tolerances,
    integrate,
)
from ascentopt.flight.simulation.samples import Block, Samples
from ascentopt.typing import Floats

# Propellant, as a fraction of the mass aboard, that a clock may overdraw: a table from a program
# that held its constraints to 1e-8 says when to cut off, and is not refused for it.
_OVERDRAW = 1e-6

# Burns that end by their propellant take their longest duration to the last bit or so.
_LATENESS = 1e-3  # s

# s, on burns that begin in the air. The tables of air and drag are smooth to the second derivative
# only; long steps that pass a knot of theirs estimate their error too low. With this bound a flight
# to orbit keeps within a millimetre or so, without it within a centimetre or two. Coasts need none:
# they are flown where drag is all but gone, a thousand seconds of it on Mars, and differ by less.
_LONGEST_STEP_IN_AIR = 2.0

# A direction or a throttle from a program that held its constraints to 1e-8 is not refused.
_SLACK = 1e-6

_ENDING, _PHASE, _GROUND, _EMPTY = range(4)  # places in what the integrator watches
_NEVER = -1.0  # value of something that is not watched

State = tuple[float, Floats]
"""Time, and what is integrated (12): position, velocity, mass, losses."""


@dataclass(frozen=True, kw_only=True)
class FlightSetting:
    """What holds for the whole flight.

    Args:
        law: the steering law.
        surroundings: of the body.
        site: (3,) where the site stood at time zero, m.
        ground: altitude in m at which a flight is over.
        tolerances: of the integrator.
    """

    law: SteeringLaw
    surroundings: Surroundings
    site: tuple[float, float, float]
    ground: float
    tolerances: Tolerances


@dataclass(kw_only=True)
class FlightSoFar:
    """Grows arc by arc: what was flown, and which phase the law is in since when."""

    arcs: list[TrajectoryArc] = field(default_factory=list)
    phase: int = 0
    phase_start: float | None = None


def fly_arc(
    setting: FlightSetting, so_far: FlightSoFar, arc: FlightArc, ending: Ending, start: State
) -> State:
    """Fly an arc from `start`, add it to the flight so far, and return its end.

    Raises:
        FlightError: one of its kinds, with the trajectory until then.
    """
    return _ArcFlyer(setting, so_far, arc, ending, start).fly()


class _ArcFlyer:
    def __init__(
        self,
        setting: FlightSetting,
        so_far: FlightSoFar,
        arc: FlightArc,
        ending: Ending,
        start: State,
    ) -> None:
        self.setting, self.so_far = setting, so_far
        self.arc, self.ending = arc, ending
        self.began, (self.time, self.flown) = start[0], start
        self.steered = arc.kind.guidance is Guidance.STEERED
        self.idle = idle(arc)
        self.written = setting.law.written(arc) if self.idle is None else self.idle
        self.rates = self._rates()
        phased = self.steered and len(setting.law.phases) > 0
        self.by_clock = ending.duration is not None and not phased
        self.least_mass = arc.least_mass - _OVERDRAW * float(start[1][MASS])
        self.tolerances = self._tolerances()
        self.samples = Samples()
        self.step: float | None = None
        self.corner = False
        self.between = (0.0, inf)

    def fly(self) -> State:
        if self.steered and self.so_far.phase_start is None:
            self.so_far.phase_start = self.began
        self._pass_phases()
        limit = self._longest_duration()
        breaks = self.setting.law.breaks(self.arc)
        instants = [] if self._over() else step_boundaries(self.arc, breaks, self.began, limit)
        for before, stop in pairwise([0.0, *instants]):
            self.between = (before, float(np.nextafter(stop, 0.0)))
            if isinstance(self.rates, WrittenRates):
                self.rates.select_piece(0.5 * (before + stop))
            if self._fly_to(self.began + stop):
                break
        else:
            if instants and self.ending.duration is None:
                self._fail(EndingNotReached, f"it is longer than {limit:.6g} s, its longest")
        self._record()
        return self.time, self.flown

    def _rates(self) -> Rates:
        if self.written is not None:
            return WrittenRates(self.arc, self.began, self.written)
        return partial(self._listened, MotionRates(self.arc.kind, self.arc.numbers))

    def _tolerances(self) -> Tolerances:
        air, usual = self.arc.kind.body.atmosphere, self.setting.tolerances
        if air is None or not self.arc.burning:
            return usual
        if self._moment(self.time, self.flown).altitude >= air.ceiling:
            return usual
        return replace(usual, longest_step=_LONGEST_STEP_IN_AIR)

    def _over(self) -> bool:
        """Whether there is nothing to fly: no time, or an ending that is met already."""
        self._sample(np.array([self.time]), self.flown[np.newaxis])
        return self.ending.duration == 0.0 or self._met()

    def _met(self) -> bool:
        """Whether an ending that is a matter of the state is met now."""
        if self.ending.duration is not None:
            return False
        return value_of(self.ending, self._moment(self.time, self.flown)) >= 0.0

    def _longest_duration(self) -> float:
        if self.ending.duration is not None:
            return self.ending.duration
        return self.arc.duration[1] + _LATENESS

    def _fly_to(self, stop: float) -> bool:
        """Fly to the instant; True when the arc's ending came first."""
        while self.time < stop:
            try:
                stretch = integrate(
                    self.rates,
                    (self.time, self.flown),
                    stop,
                    self._watch,
                    self.tolerances,
                    self.step,
                )
            except StepFailure as failure:
                self._fail(IntegrationFailed, f"the integrator cannot go on {failure}", failure)
            self._take(stretch)
            if stretch.stopped_by == _ENDING:
                return True
            if stretch.stopped_by == _PHASE:
                self._next_phase()
                if self._met():
                    return True
            elif stretch.stopped_by == _GROUND:
                self._fail(HitGround, "the vehicle is below the ground there")
            elif stretch.stopped_by == _EMPTY and isinstance(self.ending, AfterDurationOrEmpty):
                return True
            elif stretch.stopped_by == _EMPTY:
                self._fail(OutOfPropellant, f"only {self.flown[MASS]:.6g} kg are left, all dry")
        return False

    def _take(self, stretch: Stretch) -> None:
        self._sample(stretch.times, stretch.states)
        self.time, self.flown = float(stretch.times[-1]), stretch.states[-1]
        self.step = stretch.step

    # The two functions that the integrator calls.

    def _listened(self, motion: MotionRates, time: float, flown: Floats) -> Floats:
        command = self._commanded(self._listening(time, flown))
        return motion((time, time - self.began), flown, command[0], command[1])

    def _commanded(self, now: Moment) -> Command:
        """What the law commands; one of a user's own may fail, or answer with nonsense."""
        if is_ours(self.setting.law):
            return self.setting.law.command(now)
        found = asked(lambda: self._place(now), "command", self.setting.law.command, now)
        pair = found if isinstance(found, tuple) and len(found) == 2 else (None, None)
        if unit_vector(pair[0]) is None or not isinstance(pair[1], Real):
            raise InputError(
                f"{self._place(now)}: command returned {told(found)}; it must be a Command of a "
                "direction (3) and a throttle. Return Command(direction, throttle)."
            )
        return Command(*pair)

    def _listening(self, time: float, flown: Floats) -> Moment:
        """The moment as the law is told it: at a break that is stepped on, on this side of it.

        A command may jump there. The last evaluations of a step that ends on a jump would hear
        what comes after it, and rounding decide on which side the first ones of the next fall.
        """
        now = self._moment(time, flown)
        now.elapsed = min(max(now.elapsed, self.between[0]), self.between[1])
        return now

    def _watch(self, time: float, flown: Floats) -> tuple[float, float, float, float]:
        if self.by_clock:  # nothing but the ground and the tank may stop it
            height, mass = self.setting.surroundings.altitude(flown), float(flown[MASS])
            empty = self.least_mass - mass if self.arc.burning else _NEVER
            return _NEVER, _NEVER, self.setting.ground - height, empty
        now = self._moment(time, flown)
        phases = self.setting.law.phases if self.steered else ()
        by_clock = self.ending.duration is not None
        watches_mass = self.arc.burning and not isinstance(self.ending, AtEmpty)
        return (
            _NEVER if by_clock else value_of(self.ending, now),
            value_of(phases[now.phase], now) if now.phase < len(phases) else _NEVER,
            self.setting.ground - now.altitude,
            self.least_mass - now.mass if watches_mass else _NEVER,
        )

    def _moment(self, time: float, flown: Floats) -> Moment:
        start = self.so_far.phase_start
        clock = (time, time - self.began, 0.0 if start is None else time - start)
        return Moment(self.arc, self.setting.surroundings, clock, self.so_far.phase, flown[:7])

    def _next_phase(self) -> None:
        self.so_far.phase += 1
        self.so_far.phase_start = self.time
        self.corner = True
        self._pass_phases()

    def _pass_phases(self) -> None:
        """Go on through phases whose end has come already."""
        phases = self.setting.law.phases if self.steered else ()
        while self.so_far.phase < len(phases):
            here = self._moment(self.time, self.flown)
            if value_of(phases[self.so_far.phase], here) < 0.0:
                return
            self.so_far.phase += 1
            self.so_far.phase_start = self.time

    # What is written down.

    def _sample(self, times: Floats, states: Floats) -> None:
        elapsed = np.clip(times - self.began, *self.between)
        told = None
        if self.written is None:
            told = [self._told(t, s) for t, s in zip(times, states, strict=True)]
        self.samples.add(Block(times, elapsed, states[:, :7], self.corner), told)
        self.corner = False

    def _told(self, time: float, flown: Floats) -> Command:
        now = self._listening(time, flown)
        command = self._checked(self._commanded(now), now)
        vertical = self.arc.kind.guidance is Guidance.VERTICAL
        return Command(now.up, command.throttle) if vertical else command

    def _commands(self) -> Floats:
        """(n, 4) directions and throttle at all samples."""
        samples = self.samples
        if self.written is None:
            return samples.commands
        found = commands(self.arc.kind.guidance, self.written, samples, self.setting.surroundings)
        throttle = found[:, 3]
        if self.idle is None:
            for place in (int(throttle.argmin()), int(throttle.argmax())):
                now = self._moment(self.began + samples.elapsed[place], samples.states[place])
                self._checked(Command(found[place, :3], float(throttle[place])), now)
        return found

    def _checked(self, command: Command, now: Moment) -> Command:
        """Refuse what no engine can do: the forces would follow it all the same."""
        length = hypot(*command.direction)
        if self.steered and not abs(length - 1.0) < _SLACK:
            raise InputError(
                f"{self._place(now)}: the direction {tuple(command.direction)} has the length "
                f"{length:.9g}; it must be 1. Divide it by its length."
            )
        least = self.arc.min_throttle
        if not least - _SLACK <= command.throttle <= 1.0 + _SLACK:
            raise InputError(
                f"{self._place(now)}: throttle is {command.throttle!r}; it must be between "
                f"{least:g} and 1, what the engine can do. Keep it within."
            )
        return command

    def _place(self, now: Moment) -> str:
        law = type(self.setting.law).__name__
        return f"{law} on arc {self.arc.name!r} at {now.time:.3f} s"

    def _record(self) -> None:
        rows = self.samples.rows(self._commands())
        taken = TrajectoryArc.sampled(self.arc, self.setting.site, rows, start=self.began)
        self.so_far.arcs.append(taken)

    def _fail(self, kind: type[FlightError], what: str, cause: Exception | None = None) -> None:
        if not self.samples.blocks:
            self._sample(np.array([self.time]), self.flown[np.newaxis])
        self._record()
        trajectory = Trajectory(arcs=tuple(self.so_far.arcs))
        raise kind(
            f"{kind.verdict} {place_text(trajectory)}: arc {self.arc.name!r} did not come to its "
            f"end ({self.ending}), {what}.",
            arc=self.arc.name,
            time=self.time,
            trajectory=trajectory,
        ) from cause
