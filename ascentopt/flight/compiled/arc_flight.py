"""One arc of a compiled flight: its steps, phases and events."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial
from math import isfinite
from typing import Protocol

from ascentopt.arguments import is_ours
from ascentopt.errors import InputError
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.failures import ArcNotEnded, CompiledFlightError, FellToGround
from ascentopt.flight.compiled.load_log import LoadLog, Place
from ascentopt.flight.compiled.step_control import StepController, StepTooShort
from ascentopt.flight.compiled.stepper import Clock, Stepper
from ascentopt.flight.dynamics.numeric_rates import SLIVER, step_boundaries
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.arc_endings import Endings
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import Ending, value_of
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.numerics.root_bracket import Point, passes_zero
from ascentopt.typing import Floats

_EVENT_TOLERANCE = 1e-8
"""s within which an event is found, times the slack: a tenth of a millimetre in orbit, where the
slack of one is a tenth of a metre."""

_INSTANT = 1e-4  # s: longer than the shortest step
FALLEN_BELOW = 1.0  # m below the pad that count as having fallen


class Flying(Protocol):
    """The flight that an arc belongs to; as of `CompiledFlight`."""

    sequence: Sequence
    law: SteeringLaw
    endings: Endings
    surroundings: Surroundings
    ground: float
    allowed_debt: float
    last_phase: int
    log: LoadLog | None
    slack: float

    def stepper(self, arc: FlightArc, formula: Formula | None, phase: int = 0) -> Stepper:
        """Steps along an arc as a formula says in a phase of the law."""


class _Watch:
    """What may end an arc, or the phase of the law on it, before its time.

    Attributes:
        before: the values where the next step begins.
    """

    def __init__(self, watched: list[Ending], moment: Callable[[float, Floats], Moment]) -> None:
        self._values = [one.value if is_ours(one) else partial(value_of, one) for one in watched]
        self._moment = moment
        self.before: list[float] = []

    def begin(self, time: float, state: Floats) -> None:
        """From here on."""
        self.before = self(time, state)

    def __call__(self, time: float, state: Floats) -> list[float]:
        """The values."""
        if not self._values:
            return []
        moment = self._moment(time, state)
        return [value(moment) for value in self._values]

    def slopes(self, here: list[float], time: float, state: Floats, rates: Floats) -> list[float]:
        """Of the values, which are those of this place, per s."""
        soon = self(time + _INSTANT, state + _INSTANT * rates)
        return [(b - a) / _INSTANT for a, b in zip(here, soon, strict=True)]

    def risen(self, after: list[float], close: float) -> list[int]:
        """Which have risen through zero, or to it within a share of the way that they went.

        `after` is what they are now.
        """
        changes = enumerate(zip(self.before, after, strict=True))
        return [which for which, (a, b) in changes if a < 0.0 and b >= close * (a - b)]

    def is_there(self, after: list[float], close: float, which: int) -> bool:
        """Whether one that has risen is within that of zero: as where a step was to land there."""
        return after[which] <= close * (after[which] - self.before[which])


class ArcFlight:
    """One arc on its way; `fly` is called once."""

    def __init__(self, flight: Flying, mark: Checkpoint) -> None:
        index = len(mark.begun)
        self.flight, self.mark = flight, mark
        self.arc: FlightArc = flight.sequence.arcs[index]
        self.ending: Ending = flight.endings.of(index, [*mark.begun, mark.time])
        self.timed = self.ending.duration is not None
        self.steered = self.arc.kind.guidance is Guidance.STEERED
        self.controller: StepController
        self.watch: _Watch
        self.formula: Formula | None = None

    def fly(self, place: Checkpoint | None = None) -> Checkpoint:
        """Where it ends, before its joint; from a place on it, where one is given.

        Raises:
            CompiledFlightError: where it does not end.
        """
        now = self._phases_passed(place or self.mark)
        instants = self._stops(now)
        if instants:
            self._begin_phase(now)
        for stop in instants:  # those that are behind take no time
            now, ended = self._fly_to(now, self.mark.time + stop)
            if ended:
                return now
        if instants and not self.timed:
            raise ArcNotEnded(self.arc.name, self.ending)
        return now

    def _stops(self, now: Checkpoint) -> list[float]:
        """Seconds into the arc to step on; none when its end has come already."""
        if self._over(now):
            return []
        breaks = self.flight.law.breaks(self.arc)
        return step_boundaries(self.arc, breaks, self.mark.time, self._longest_duration())

    def _over(self, now: Checkpoint) -> bool:
        """Whether its end has come."""
        if self.ending.duration is not None:
            return now.time - self.mark.time - self.ending.duration + SLIVER >= 0.0
        return value_of(self.ending, self._moment(now)) >= 0.0

    def _longest_duration(self) -> float:
        """Longest duration in s, overdraft included."""
        if self.ending.duration is not None:
            return self.ending.duration
        flow = self.arc.parameters.mass_flow + self.arc.parameters.side_mass_flow
        longer = self.flight.allowed_debt / flow if self.arc.burning and flow > 0.0 else 0.0
        return self.arc.duration[1] + longer + 1e-3

    def _begin_phase(self, now: Checkpoint) -> None:
        """Choose the formula of the phase, and what is watched while it holds."""
        law, formula = self.flight.law, None
        if self.steered:
            formula = law.formula(self.arc, now.phase)
            if formula is None:
                raise InputError(
                    f"{type(law).__name__}: it has no formula for arc {self.arc.name!r}; a "
                    "compiled flight needs one. Fly it with fly()."
                )
        stepper = self.flight.stepper(self.arc, formula, now.phase)
        self.controller = StepController(stepper, self._clock(now.time, now), now.state)
        self.formula = formula
        if self.flight.log is not None:
            self.flight.log.places.append(Place(self.mark, now))
        watched = [] if self.timed else [self.ending]
        if self.steered and now.phase < len(law.phases):
            watched.append(law.phases[now.phase])
        self.watch = _Watch(watched, lambda time, state: self._moment_at(time, state, now))
        self.watch.begin(now.time, now.state)

    def _fly_to(self, now: Checkpoint, stop: float) -> tuple[Checkpoint, bool]:
        """Fly to the instant; True when the arc's ending came first."""
        while stop - now.time > SLIVER:
            now, event = self._steps(now, stop)
            if event is None:
                break
            if event == 0 and not self.timed:
                return now, True
            now = self._phases_passed(replace(now, phase=now.phase + 1, phase_start=now.time))
            if now.phase >= self.flight.last_phase or (not self.timed and self._over(now)):
                return now, True
            self._begin_phase(now)
        return now, False

    def _steps(self, now: Checkpoint, stop: float) -> tuple[Checkpoint, int | None]:
        """Steps as far as the instant, or the first event before it, which is told."""
        controller, watch, begin = self.controller, self.watch, now
        close = _EVENT_TOLERANCE * self.flight.slack
        event: int | None = None
        while event is None and stop - now.time > SLIVER:
            length = self._step(now, stop)
            state = controller.stepper.end
            after, share = watch(now.time + length, state), close / length
            risen = watch.risen(after, share)
            if len(risen) == 1 and watch.is_there(after, share, risen[0]):
                event = risen[0]
            elif risen:
                event, length, state = self._at_first(now.time, after, risen)
            now = self._accepted(now, length, state)
            if event is None:
                self._check_tank(now)
                watch.before = after
                controller.go_on(self._clock(now.time, begin))
        return now, event

    def _step(self, now: Checkpoint, stop: float) -> float:
        """A step as long as the error allows; its length in s."""
        try:
            length = self.controller.make(stop - now.time)
        except StepTooShort:
            self._check_direction(now)
            raise CompiledFlightError(f"arc {self.arc.name!r}: no step is small enough") from None
        if self.controller.stepper.altitude < self.flight.ground:
            raise FellToGround(f"it falls back: {self.arc.name!r} ends below the ground")
        return length

    def _accepted(self, now: Checkpoint, length: float, state: Floats) -> Checkpoint:
        """Where a step has led, with the greatest loads so far; written down if that is asked."""
        if length <= 0.0:  # an event stands where the step begins
            return now
        stepper, log = self.controller.stepper, self.flight.log
        if log is not None:
            log.steps.append((now.time, length, stepper.readings))
        p, q, r = map(max, now.peaks, stepper.peaks)
        return now.advanced(now.time + length, state, (p, q, r))

    def _check_tank(self, now: Checkpoint) -> None:
        """Refuse to burn more than is aboard and lent: of a stage lit again the time is no bound.

        Where the mass comes to nothing the equations end, and no step is small enough to pass.
        """
        least = self.arc.least_mass - self.flight.allowed_debt
        if self.arc.burning and not self.timed and now.state[MASS] < least:
            raise ArcNotEnded(self.arc.name, self.ending)

    def _check_direction(self, now: Checkpoint) -> None:
        """Refuse a formula that is no direction here, or in an instant.

        Raises:
            FellToGround: where that is on the ground.
            InputError: elsewhere.
        """
        if self.formula is None:
            return
        moment = self._moment(now)
        ahead = now.state.copy()
        ahead[:3] += _INSTANT * ahead[3:6]
        soon = replace(now, time=now.time + _INSTANT, state=ahead)
        found = [at.direction(self.formula) for at in (moment, self._moment(soon))]
        if all(isfinite(part) for direction in found for part in direction):
            return
        if moment.altitude < self.flight.ground + 2.0 * FALLEN_BELOW:
            raise FellToGround(f"it falls back: {self.arc.name!r} ends on the ground")
        raise InputError(
            f"{self.formula}: {now.time:.3f} s after lift-off, {moment.altitude:.0f} m up, on arc "
            f"{self.arc.name!r}, its direction is no longer finite; it must be three finite "
            "numbers wherever it is flown. Bound the arguments of roots, logarithms and divisions."
        )

    # Events.

    def _at_first(
        self, time: float, after: list[float], risen: list[int]
    ) -> tuple[int, float, Floats]:
        """Which value passes zero first on a step that began at a time, how long after, where."""
        stepper, watch, until = self.controller.stepper, self.watch, self.controller.stepper.length
        begin = watch.slopes(watch.before, time, stepper.start, stepper.start_rates)
        end = watch.slopes(after, time + until, stepper.end, stepper.end_rates)
        befores = [Point(0.0, *one) for one in zip(watch.before, begin, strict=True)]
        afters = [Point(until, *one) for one in zip(after, end, strict=True)]
        found = [(*self._crossed(time, k, (befores[k], afters[k])), k) for k in risen]
        length, state, first = min(found, key=lambda one: one[0])
        if first != risen[-1]:
            length, state = self._crossed(time, first, (befores[first], afters[first]))
        return first, length, state

    def _crossed(
        self, time: float, which: int, ends: tuple[Point, Point]
    ) -> tuple[float, Floats]:
        """Seconds into a step after which a value passes zero, and the state there."""
        stepper, watch, here = self.controller.stepper, self.watch, self.watch.before

        def value(length: float) -> float:
            nonlocal here
            stepper.make(length, length)
            here = watch(time + length, stepper.end)
            return here[which]

        def slope(length: float) -> float:
            return watch.slopes(here, time + length, stepper.end, stepper.end_rates)[which]

        length = passes_zero(value, *ends, _EVENT_TOLERANCE * self.flight.slack, slope)
        return length, stepper.end

    def _phases_passed(self, now: Checkpoint) -> Checkpoint:
        """Go on through phases whose end has come already."""
        if not self.steered:
            return now
        phases = self.flight.law.phases
        if now.phase_start is None:
            now = replace(now, phase_start=now.time)
        while now.phase < len(phases) and value_of(phases[now.phase], self._moment(now)) >= 0.0:
            now = replace(now, phase=now.phase + 1, phase_start=now.time)
        return now

    def _moment(self, now: Checkpoint) -> Moment:
        return self._moment_at(now.time, now.state, now)

    def _moment_at(self, time: float, state: Floats, since: Checkpoint) -> Moment:
        """In the phase of a checkpoint."""
        clock = self._clock(time, since)
        return Moment(self.arc, self.flight.surroundings, clock, since.phase, state)

    def _clock(self, time: float, since: Checkpoint) -> Clock:
        start = since.phase_start
        return time, time - self.mark.time, 0.0 if start is None else time - start
