"""Integration of a smooth stretch, stopped where one of several functions rises through zero.

The steps are those of SciPy's DOP853: E. Hairer, S. P. Norsett and G. Wanner, Solving Ordinary
Differential Equations I, 2nd ed., 1993, sec. II.5 and II.10.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.typing import Floats

if TYPE_CHECKING:
    from scipy.integrate import DOP853

Rates = Callable[[float, Floats], Floats]
Watch = Callable[[float, Floats], tuple[float, ...]]

# Points are kept inside a step, besides its ends, one for each half second but no more than these:
# enough for a readable curve, and few where the steps are short anyway.
_SPACING = 0.5
_MOST_INSIDE = 8
_POLISHES = 4  # Newton steps after the interpolant has found an event to eight digits or so


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

    `step` is what the integrator would have tried next, in s; None when it never got to choose.
    """

    times: Floats
    states: Floats
    stopped_by: int | None
    step: float | None


class StepFailure(RuntimeError):
    """The integrator could not go on: the step it would need is below rounding."""


def integrate(
    rates: Rates,
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
    time, state = start
    solver = _solver(rates, start, end, tolerances, first_step)
    times, states, values = [np.array([time])], [state[np.newaxis]], watch(time, state)
    stopped_by: int | None = None
    while stopped_by is None and solver.status == "running":
        _step(solver)
        before, values = values, watch(solver.t, solver.y)
        risen = [k for k, (a, b) in enumerate(zip(before, values, strict=True)) if a < 0.0 <= b]
        if risen:
            stopped_by, kept = _first_event(rates, solver, watch, risen, tolerances)
        else:
            kept = _kept(solver)
        times.append(kept[0])
        states.append(kept[1])
    return Stretch(
        times=np.concatenate(times),
        states=np.concatenate(states),
        stopped_by=stopped_by,
        step=solver.h_abs,
    )


def _solver(
    rates: Rates,
    start: tuple[float, Floats],
    end: float,
    tolerances: Tolerances,
    first_step: float | None,
) -> DOP853:
    # Imported here: SciPy's integrators take longer to import than everything else together.
    from scipy.integrate import DOP853

    time, state = start
    longest = tolerances.longest_step
    step = None if first_step is None else min(first_step, end - time, longest)
    return DOP853(
        rates,
        time,
        state,
        end,
        first_step=step,
        max_step=longest,
        rtol=tolerances.relative,
        atol=np.array(tolerances.absolute),
    )


def _step(solver: DOP853) -> None:
    message = solver.step()
    if solver.status == "failed":
        raise StepFailure(f"at {solver.t:.6f} s: {message}")


def _kept(solver: DOP853) -> tuple[Floats, Floats]:
    """Points inside the last step, and its end."""
    inside = _inside(solver.t_old, solver.t)
    if not len(inside):
        return np.array([solver.t]), solver.y[np.newaxis]
    return np.append(inside, solver.t), np.vstack([solver.dense_output()(inside).T, solver.y])


def _inside(begin: float, end: float) -> Floats:
    count = min(int((end - begin) / _SPACING), _MOST_INSIDE)
    return np.linspace(begin, end, count + 2)[1:-1]


def _first_event(
    rates: Rates, solver: DOP853, watch: Watch, risen: list[int], tolerances: Tolerances
) -> tuple[int, tuple[Floats, Floats]]:
    """Which value is first through zero, and the points from the step's start up to there.

    The interpolant finds the instant; since it is less exact than the step itself, the step is
    made again up to that instant and corrected by Newton's rule.
    """
    from scipy.optimize import brentq

    dense, begin, close = solver.dense_output(), solver.t_old, solver.t

    def value(time: float, which: int) -> float:
        return watch(time, dense(time))[which]

    found = {}
    for which in risen:
        exact = value(close, which) < 0.0 or value(begin, which) >= 0.0
        found[which] = close if exact else brentq(value, begin, close, args=(which,), xtol=1e-12)
    which = min(found, key=lambda k: found[k])
    instant, start = found[which], dense(begin)
    state = start
    for _ in range(_POLISHES):
        if instant <= begin:  # within rounding of where the step began
            state = start
            break
        again = _solver(rates, (begin, start), instant, tolerances, instant - begin)
        while again.status == "running":
            _step(again)
        state = again.y
        # Over less than that, as where the step begins all but at the event, it is rounding.
        width = 1e-3 * (close - begin)
        inside, outside = max(instant - width, begin), max(instant, begin + width)
        slope = (value(outside, which) - value(inside, which)) / (outside - inside)
        change = watch(instant, state)[which] / slope
        if abs(change) <= 4.0 * np.spacing(close):
            break
        instant = min(max(instant - change, begin), close)
    inner = _inside(begin, instant)
    return which, (np.append(inner, instant), np.vstack([dense(inner).T, state]))
