"""One step of integration, compiled: the whole of a Runge-Kutta step in a single call.

The method is that of SciPy's DOP853, of order eight with its own estimate of the error: E. Hairer,
S. P. Norsett and G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., 1993, sec. II.5.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.flight.buffered import BufferedFunction
from ascentopt.flight.forces import Forces, Instant, forces
from ascentopt.flight.formula import Formula, FormulaKey, view_of
from ascentopt.flight.kind import ArcKind, Guidance
from ascentopt.flight.model import MASS, motion
from ascentopt.typing import Expr
from ascentopt.world.table import Floats

LOADS = ("dynamic pressure", "q alpha", "axial acceleration")
"""Pa, Pa rad and m/s^2: what a leap reports of the place where it lands."""

_RELATIVE = 1e-9
_ABSOLUTE = (*(1e-3,) * 3, *(1e-6,) * 3, 1e-6)  # m, m/s, kg
_STATE = 7
_CLOCKS = 3  # time, elapsed, phase_time


class Leap:
    """Steps along an arc, as long as one formula holds; not to be shared by threads.

    Attributes:
        error: of the last step, in units of what is tolerated.
        altitude: m above the ellipsoid, where it ended.
        loads: (3,) there, in the order of `LOADS`.
    """

    def __init__(self, kind: ArcKind, numbers: Sequence[float], formula: Formula | None) -> None:
        key = None if formula is None else formula.key
        self._function = BufferedFunction(_leap_function(kind, key))
        given = self._function.given
        given[1][:] = numbers
        self._given, self._own, self._found = given[0], given[2], self._function.found
        self.follow(formula)
        self.error, self.altitude = 0.0, 0.0
        self.loads: list[float] = [0.0] * len(LOADS)

    def follow(self, formula: Formula | None) -> None:
        """Take the numbers of another formula of the same form."""
        if formula is not None:
            self._own[:] = formula.numbers

    def __call__(self, clock: tuple[float, float, float], state: Floats, length: float) -> Floats:
        """(7,) state after `length` s; the clock holds time, elapsed and phase_time."""
        given = self._given
        given[:_CLOCKS] = clock
        given[_CLOCKS] = length
        given[_CLOCKS + 1 :] = state
        self._function.evaluate()
        _, self.error, self.altitude, *self.loads = self._found[_STATE - 1 :].tolist()
        return self._found[:_STATE].copy()


@lru_cache(maxsize=256)
def _leap_function(kind: ArcKind, key: FormulaKey | None) -> ca.Function:
    """End (7), error, altitude and loads from clocks, length and state (11), and numbers."""
    rates, read = _rates_function(kind, key), _readings_function(kind, key)
    x, numbers = ca.SX.sym("x", _CLOCKS + 1 + _STATE), ca.SX.sym("p", len(kind.numbers))
    own = ca.SX.sym("q", 0 if key is None else len(key.formula.numbers))
    clocks, length, start = x[:_CLOCKS], x[_CLOCKS], x[_CLOCKS + 1 :]

    def rate(part: float, state: Expr) -> Expr:
        return rates(ca.vertcat(clocks + part * length, state), numbers, own)

    end, error = _runge_kutta(rate, start, length)
    readings = read(ca.vertcat(clocks + length, end), numbers, own)
    return ca.Function("leap", [x, numbers, own], [ca.vertcat(end, error, readings)])


def _runge_kutta(rate: Expr, start: Expr, length: Expr) -> tuple[Expr, Expr]:
    """State after a step, and its error in units of the tolerance."""
    # Imported here: SciPy's integrators take longer to import than everything else together.
    from scipy.integrate import DOP853

    stages = [rate(0.0, start)]
    for part, row in zip(DOP853.C[1:], DOP853.A[1:], strict=False):
        stages.append(rate(part, start + length * _sum(row, stages)))
    end = start + length * _sum(DOP853.B, stages)
    stages.append(rate(1.0, end))
    scale = ca.DM(_ABSOLUTE) + _RELATIVE * ca.fmax(ca.fabs(start), ca.fabs(end))
    fifth = ca.sumsqr(_sum(DOP853.E5, stages) / scale)
    third = ca.sumsqr(_sum(DOP853.E3, stages) / scale)
    divisor = ca.sqrt(ca.fmax((fifth + 0.01 * third) * _STATE, 1e-300))
    return end, ca.fabs(length) * fifth / divisor


def _sum(weights: np.ndarray, stages: Sequence[Expr]) -> Expr:
    return sum(float(w) * stage for w, stage in zip(weights, stages, strict=False) if w)


@lru_cache(maxsize=256)
def _rates_function(kind: ArcKind, key: FormulaKey | None) -> ca.Function:
    symbols, now = _forces(kind, key)
    return ca.Function("rates", symbols, [ca.cse(motion(now))])


@lru_cache(maxsize=256)
def _readings_function(kind: ArcKind, key: FormulaKey | None) -> ca.Function:
    symbols, now = _forces(kind, key)
    column = ca.vertcat(now.altitude, *_loads(now, powered=kind.guidance is not Guidance.COAST))
    return ca.Function("readings", symbols, [ca.densify(ca.cse(column))])


def _loads(now: Forces, *, powered: bool) -> tuple[Expr, ...]:
    if not powered:
        return now.dynamic_pressure, 0.0, 0.0
    attack = ca.acos(ca.fmin(ca.fmax(now.cosine_of_attack, -1.0), 1.0))
    return now.dynamic_pressure, now.dynamic_pressure * attack, now.axial_acceleration


def _forces(kind: ArcKind, key: FormulaKey | None) -> tuple[list[Expr], Forces]:
    """Symbols (clocks and state, numbers, the formula's numbers) and the forces they make."""
    x, numbers = ca.SX.sym("x", _CLOCKS + _STATE), ca.SX.sym("p", len(kind.numbers))
    own = ca.SX.sym("q", 0 if key is None else len(key.formula.numbers))
    state = x[_CLOCKS:]
    position, velocity = state[:3], state[3:6]
    direction = ca.SX.zeros(3)
    if key is not None:
        view = view_of(kind.body, (x[0], x[2]), position, velocity)
        direction = key.formula.direction(view, own)
    instant = Instant(
        time=x[0],
        elapsed=x[1],
        position=position,
        velocity=velocity,
        mass=state[MASS],
        direction=direction,
        throttle=1.0,
        numbers=numbers,
    )
    return [x, numbers, own], forces(kind, instant)
