"""Integration of a smooth stretch, stopped where one of several functions rises through zero.

The method is DOP853 and its steps are as long as SciPy's: E. Hairer, S. P. Norsett and G. Wanner,
Solving Ordinary Differential Equations I, 2nd ed., 1993, sec. II.4, II.5 and II.10.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from ascentopt.flight.crossing import Point, passes_zero
from ascentopt.flight.dop853 import ALL_STAGES, E3, E5, STAGES, B, D
from ascentopt.flight.stages import Stages
from ascentopt.world.table import Floats

Watch = Callable[[float, Floats], tuple[float, ...]]

# Points are kept inside a step, besides its ends, one for each half second but no more than these:
# enough for a readable curve, and few where the steps are short anyway.
_SPACING = 0.5
_MOST_INSIDE = 8
_POLISHES = 4  # Newton steps after the interpolant has found an event to eight digits or so
_FOUND = 1e-12  # s, how closely it is found there

_CAUTION = 0.9  # of the step that would make the tolerated error
_SHRINK, _GROW = 0.2, 10.0
_EXPONENT = -1.0 / 8.0
_LEAST = 10.0  # spacings of floating-point numbers that a step must have


@dataclass(frozen=True, kw_only=True)
class Tolerances:
    """Error that a step may make: `relative`, plus `absolute` (one for each component).

    `longest_step` in s bounds the step where the rates are less smooth than the error estimate of
    a long step can see.
    """

    relative: float
    absolute: tuple[float, ...]
    longest_step: float = inf


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A piece of the solution: times (k,), states (k, n), and which function stopped it.

    `step` is what the integrator would have tried next, in s.
    """

    times: Floats
    states: Floats
    stopped_by: int | None
    step: float


class StepFailure(RuntimeError):
    """The integrator could not go on: the step it would need is below rounding."""


@dataclass(frozen=True, eq=False)
class Step:
    """A step that was taken: from `begin` to `close` in s, `length` apart, and (12, n) rates."""

    begin: float
    close: float
    length: float
    start: Floats
    end: Floats
    rates: Floats


def integrate(
    stages: Stages,
    start: tuple[float, Floats],
    end: float,
    watch: Watch,
    tolerances: Tolerances,
    first_step: float | None,
) -> Stretch:
    """Integrate from `start` (time, state) to `end`, or to where a watched value rises through 0.

    A watched value that is not negative at the start stops nothing until it has been negative.

    Raises:
        StepFailure: when the step size vanishes.
    """
    walk = Walk(stages, start, end, tolerances, first_step)
    times, states, values = [np.array([start[0]])], [start[1][np.newaxis]], watch(*start)
    which = None
    while walk.time < end and which is None:
        step = walk.step()
        before, values = values, watch(step.close, step.end)
        risen = [k for k, (a, b) in enumerate(zip(before, values, strict=True)) if a < 0.0 <= b]
        if risen:
            which, kept = _first_event(walk, step, watch, risen)
        else:
            kept = _kept(stages, step)
        times.append(kept[0])
        states.append(kept[1])
    return Stretch(
        times=np.concatenate(times),
        states=np.concatenate(states),
        stopped_by=which,
        step=walk.longest,
    )


class Walk:
    """Steps from `start` (time, state) to `end` in s, each as long as the error allows.

    Attributes:
        time, state: where the last step ended.
        longest: s, what the next step is tried with.
    """

    def __init__(
        self,
        stages: Stages,
        start: tuple[float, Floats],
        end: float,
        tolerances: Tolerances,
        first_step: float | None,
    ) -> None:
        self.stages, self.end, self.tolerances = stages, end, tolerances
        self.time, self.state = start
        self._absolute = np.array(tolerances.absolute)
        most = min(end - self.time, tolerances.longest_step)
        self.longest = min(self._first() if first_step is None else first_step, most)

    def step(self) -> Step:
        """The next one.

        Raises:
            StepFailure: when it would have to be shorter than rounding lets it be.
        """
        least = _LEAST * (np.nextafter(self.time, inf) - self.time)
        tried = max(min(self.longest, self.tolerances.longest_step), least)
        rejected = False
        while tried >= least:
            close = min(self.time + tried, self.end)
            tried = close - self.time
            rates, end = self.stages.step(self.time, self.state, tried)
            error = self._error(rates, end, tried)
            if error < 1.0:
                grown = _GROW if error == 0.0 else min(_GROW, _CAUTION * error**_EXPONENT)
                self.longest = tried * (min(1.0, grown) if rejected else grown)
                taken = Step(self.time, close, tried, self.state, end, rates)
                self.time, self.state = close, end
                return taken
            # An error that is not a number asks for the shortest, too.
            tried *= max(_SHRINK, _CAUTION * error**_EXPONENT) if error < inf else _SHRINK
            rejected = True
        raise StepFailure(
            f"at {self.time:.6f} s: the step it needs is shorter than numbers are apart"
        )

    def _error(self, rates: Floats, end: Floats, length: float) -> float:
        """In units of what is tolerated."""
        sizes = np.maximum(np.abs(self.state), np.abs(end))
        scale = self._absolute + self.tolerances.relative * sizes
        fifth, third = (E5 @ rates) / scale, (E3 @ rates) / scale
        five, three = float(fifth @ fifth), float(third @ third)
        if five == 0.0 and three == 0.0:
            return 0.0
        return length * five / sqrt((five + 0.01 * three) * len(scale))

    def _first(self) -> float:
        """A first step, from how fast the rates and their change are (sec. II.4)."""
        scale = self._absolute + np.abs(self.state) * self.tolerances.relative
        rates = self.stages.rates(self.time, self.state)
        size, speed = _mean(self.state / scale), _mean(rates / scale)
        tried = 1e-6 if size < 1e-5 or speed < 1e-5 else 0.01 * size / speed
        tried = min(tried, self.end - self.time)
        there = self.stages.rates(self.time + tried, self.state + tried * rates)
        change = _mean((there - rates) / scale) / tried
        if speed <= 1e-15 and change <= 1e-15:
            return min(100.0 * tried, max(1e-6, tried * 1e-3))
        return min(100.0 * tried, float((0.01 / max(speed, change)) ** -_EXPONENT))


def _mean(values: Floats) -> float:
    return sqrt(float(values @ values) / len(values))


def _kept(stages: Stages, step: Step) -> tuple[Floats, Floats]:
    """Points inside the step, and its end."""
    count = _count(step.length)
    shares, weights = _INSIDE[count]
    times, states = np.empty(count + 1), np.empty((count + 1, len(step.end)))
    times[:-1], times[-1], states[-1] = step.begin + step.length * shares, step.close, step.end
    if count:
        rates = stages.extended(step.begin, step.start, step.length, step.rates)
        states[:-1] = step.start + step.length * (weights @ rates)
    return times, states


def _count(length: float) -> int:
    """How many points are kept inside a step."""
    return min(int(length / _SPACING), _MOST_INSIDE)


def _inside(begin: float, end: float) -> Floats:
    return begin + (end - begin) * _INSIDE[_count(end - begin)][0]


class Extension:
    """States within a step, to order 7."""

    def __init__(self, stages: Stages, step: Step) -> None:
        self._step = step
        self._rates = stages.extended(step.begin, step.start, step.length, step.rates)

    def __call__(self, times: Floats | float) -> Floats:
        """(k, n) states at times (k,), or (n,) at one."""
        step = self._step
        weights = extension_weights(np.asarray((times - step.begin) / step.length))
        return step.start + step.length * (weights @ self._rates)


def extension_weights(share: Floats) -> Floats:
    """(..., 16) weights of a step's rates for the way made after a share (...) of it.

    Powers of share and of what is left in turn, from a straight line on (sec. II.6, and the code).
    """
    x = share[..., np.newaxis]
    found = np.zeros(1)
    for place, term in enumerate(reversed(_TERMS)):
        found = (found + term) * (x if place % 2 == 0 else 1.0 - x)
    return found


def _terms() -> Floats:
    """(7, 16) what the powers are multiplied by, per unit of length."""
    moved, first, last = np.zeros((3, ALL_STAGES))
    moved[:STAGES], first[0], last[STAGES] = B, 1.0, 1.0
    return np.vstack([moved, first - moved, 2.0 * moved - first - last, D])


_TERMS = _terms()


def _shares(count: int) -> tuple[Floats, Floats]:
    shares = np.arange(1, count + 1) / (count + 1)
    return shares, extension_weights(shares)


_INSIDE = tuple(_shares(count) for count in range(_MOST_INSIDE + 1))
"""For each number of points inside a step, where they are and their weights."""


def _first_event(
    walk: Walk, step: Step, watch: Watch, risen: list[int]
) -> tuple[int, tuple[Floats, Floats]]:
    """Which value is first through zero, and the points from the step's start up to there.

    The interpolant finds the instant; since it is less exact than the step itself, the step is
    made again up to that instant and corrected by Newton's rule.
    """
    begin, close = step.begin, step.close
    dense = Extension(walk.stages, step)

    def value(time: float, which: int) -> float:
        return watch(time, dense(time))[which]

    found = {which: _instant(lambda t, k=which: value(t, k), step) for which in risen}  # type: ignore[misc]
    which = min(found, key=lambda k: found[k])
    instant, state = found[which], step.start
    for _ in range(_POLISHES):
        if instant <= begin:  # within rounding of where the step began
            state = step.start
            break
        state = _again(walk, step, instant)
        inside = max(instant - 1e-3 * (close - begin), begin)
        slope = (value(instant, which) - value(inside, which)) / (instant - inside)
        change = watch(instant, state)[which] / slope
        if abs(change) <= 4.0 * np.spacing(close):
            break
        instant = min(max(instant - change, begin), close)
    inner = _inside(begin, instant)
    return which, (np.append(inner, instant), np.vstack([dense(inner), state]))


def _instant(value: Callable[[float], float], step: Step) -> float:
    """Where the value passes zero, or the step's end if the interpolant does not see it do so."""
    first, last = value(step.begin), value(step.close)
    if last < 0.0 or first >= 0.0:
        return step.close
    return passes_zero(value, Point(step.begin, first), Point(step.close, last), _FOUND)


def _again(walk: Walk, step: Step, instant: float) -> Floats:
    """The state at an instant within a step, from the step's start."""
    start, first = (step.begin, step.start), instant - step.begin
    again = Walk(walk.stages, start, instant, walk.tolerances, first)
    while again.time < instant:
        again.step()
    return again.state
