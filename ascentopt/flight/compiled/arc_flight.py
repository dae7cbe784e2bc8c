"""One arc of a compiled flight: its steps, phases and events."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from math import isfinite
from typing import NamedTuple, Protocol

from ascentopt.errors import InputError
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.failures import ArcNotEnded, CompiledFlightError, FellToGround
from ascentopt.flight.compiled.load_log import LoadLog
from ascentopt.flight.compiled.step_control import StepController, StepTooShort
from ascentopt.flight.compiled.stepper import Clock, Stepper
from ascentopt.flight.dynamics.rates import SLIVER, step_boundaries
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

_EVENT_TOLERANCE = 1e-8
"""s within which an event is found, times the slack: a tenth of a millimetre in orbit, where the
slack of one is a tenth of a metre."""

_INSTANT = 1e-4  # s: longer than the shortest step
FALLEN_BELOW = 1.0  # m below the pad that count as having fallen

Watched = Callable[[Checkpoint], float]


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


class _Crossing(NamedTuple):
    """A watched value that rises through zero on a step, and what it is before and after."""

    value: Watched
    before: float
    after: float


class ArcFlight:
    """One arc on its way; `fly` is called once."""

    def __init__(self, flight: Flying, mark: Checkpoint) -> None:
        index = len(mark.begun)
        self.flight, self.mark = flight, mark
        self.arc: FlightArc = flight.sequence.arcs[index]
        self.ending: Ending = flight.endings.of(index, [*mark.begun, mark.time])
        self.steered = self.arc.kind.guidance is Guidance.STEERED
        self.controller: StepController
        self.formula: Formula | None = None
        self.before: list[float] | None = None  # the watched values where the next step begins

    def fly(self) -> Checkpoint:
        """Where it ends, before its joint. Raises `CompiledFlightError` where it does not."""
        now = self._phases_passed(self.mark)
        self._choose_formula(now)
        instants = self._stops(now)
        for stop in instants:
            now, ended = self._fly_to(now, self.mark.time + stop)
            if ended:
                return now
        if instants and self.ending.duration is None:
            raise ArcNotEnded(self.arc.name, self.ending)
        return now

    def _stops(self, now: Checkpoint) -> list[float]:
        """Seconds into the arc to step on; none when its end has come already."""
        if self._value(now) >= 0.0:
            return []
        breaks = self.flight.law.breaks(self.arc)
        return step_boundaries(self.arc, breaks, self.mark.time, self._longest_duration())

    def _longest_duration(self) -> float:
        """Longest duration in s, overdraft included."""
        if self.ending.duration is not None:
            return self.ending.duration
        flow = self.arc.parameters.mass_flow + self.arc.parameters.side_mass_flow
        longer = self.flight.allowed_debt / flow if self.arc.burning and flow > 0.0 else 0.0
        return self.arc.duration[1] + longer + 1e-3

    def _choose_formula(self, now: Checkpoint) -> None:
        """Choose the formula of the phase."""
        formula = None
        if self.steered:
            formula = self.flight.law.formula(self.arc, now.phase)
            if formula is None:
                raise InputError(
                    f"{type(self.flight.law).__name__}: it has no formula for arc "
                    f"{self.arc.name!r}; a compiled flight needs one. Fly it with fly()."
                )
        stepper = self.flight.stepper(self.arc, formula, now.phase)
        self.formula, slack = formula, self.flight.slack
        self.controller = StepController(stepper, self._clock(now), now.state, slack=slack)

    def _fly_to(self, now: Checkpoint, stop: float) -> tuple[Checkpoint, bool]:
        """Fly to the instant; True when the arc's ending came first."""
        while stop - now.time > SLIVER:
            ahead = self._after_step(now, stop)
            which = self._first_event(now, ahead)
            if which is not None:
                ahead = self._at_crossing(now, ahead.time, which)
            now = self._accepted(now, ahead)
            if which is None:
                self._check_tank(now)
                self.controller.accept()
                continue
            self.before = None
            if which.value == self._value:
                return now, True
            now = self._phases_passed(replace(now, phase=now.phase + 1, phase_start=now.time))
            if now.phase >= self.flight.last_phase:
                return now, True
            self._choose_formula(now)
            if self.ending.duration is None and self._value(now) >= 0.0:
                return now, True
        return now, False

    def _check_tank(self, now: Checkpoint) -> None:
        """Refuse to burn more than is aboard and lent: of a stage lit again the time is no bound.

        Where the mass comes to nothing the equations end, and no step is small enough to pass.
        """
        least = self.arc.least_mass - self.flight.allowed_debt
        if self.arc.burning and self.ending.duration is None and now.state[MASS] < least:
            raise ArcNotEnded(self.arc.name, self.ending)

    def _after_step(self, now: Checkpoint, stop: float) -> Checkpoint:
        """A step as long as the error allows."""
        try:
            length, state = self.controller.next_step(self._clock(now), now.state, stop - now.time)
        except StepTooShort:
            self._check_direction(now)
            raise CompiledFlightError(f"arc {self.arc.name!r}: no step is small enough") from None
        if self.controller.stepper.altitude < self.flight.ground:
            raise FellToGround(f"it falls back: {self.arc.name!r} ends below the ground")
        return now.advanced(now.time + length, state, now.peaks)

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

    def _after_step_of(self, now: Checkpoint, length: float) -> Checkpoint:
        state = self.controller.stepper(self._clock(now), now.state, length)
        return now.advanced(now.time + length, state, now.peaks)

    def _clock(self, now: Checkpoint) -> Clock:
        start = now.phase_start
        return now.time, now.time - self.mark.time, 0.0 if start is None else now.time - start

    def _accepted(self, now: Checkpoint, ahead: Checkpoint) -> Checkpoint:
        """Where a step has led, with the greatest loads so far; written down if that is asked."""
        if ahead.time <= now.time:  # an event stands where the step begins
            return now
        stepper, log = self.controller.stepper, self.flight.log
        a, b, c = stepper.peaks()
        p, q, r = now.peaks
        peaks = max(p, a), max(q, b), max(r, c)
        if log is not None:
            log.steps.append((now.time, ahead.time - now.time, stepper.readings))
        return now.advanced(ahead.time, ahead.state, peaks)

    # Events.

    def _first_event(self, now: Checkpoint, ahead: Checkpoint) -> _Crossing | None:
        """The watched value that rises through zero on a step, the earliest if several do."""
        watched = self._watched(now)
        before = self.before or [value(now) for value in watched]
        self.before = [value(ahead) for value in watched]
        changes = zip(watched, before, self.before, strict=True)
        risen = [_Crossing(*change) for change in changes if change[1] < 0.0 <= change[2]]
        if len(risen) < 2:
            return risen[0] if risen else None
        return min(risen, key=lambda one: self._at_crossing(now, ahead.time, one).time)

    def _watched(self, now: Checkpoint) -> list[Watched]:
        watched: list[Watched] = []
        watched += [] if self.ending.duration is not None else [self._value]
        if self.steered and now.phase < len(self.flight.law.phases):
            watched.append(self._phase_value)
        return watched

    def _value(self, now: Checkpoint) -> float:
        if self.ending.duration is not None:
            return now.time - self.mark.time - self.ending.duration + SLIVER
        return value_of(self.ending, self._moment(now))

    def _phase_value(self, now: Checkpoint) -> float:
        return value_of(self.flight.law.phases[now.phase], self._moment(now))

    def _moment(self, now: Checkpoint) -> Moment:
        return Moment(self.arc, self.flight.surroundings, self._clock(now), now.phase, now.state)

    def _at_crossing(self, now: Checkpoint, until: float, crossing: _Crossing) -> Checkpoint:
        """Where the value passes zero on the step that ends at an instant."""
        found = now

        def value(length: float) -> float:
            nonlocal found
            found = self._after_step_of(now, length)
            return crossing.value(found)

        ends = Point(0.0, crossing.before), Point(until - now.time, crossing.after)
        passes_zero(value, *ends, _EVENT_TOLERANCE * self.flight.slack)
        return found

    def _phases_passed(self, now: Checkpoint) -> Checkpoint:
        """Go on through phases whose end has come already."""
        if not self.steered:
            return now
        if now.phase_start is None:
            now = replace(now, phase_start=now.time)
        while now.phase < len(self.flight.law.phases) and self._phase_value(now) >= 0.0:
            now = replace(now, phase=now.phase + 1, phase_start=now.time)
        return now
