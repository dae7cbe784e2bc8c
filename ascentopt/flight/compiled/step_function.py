"""One step of integration as a single compiled function, and where its tables are to be looked up.

The method is that of SciPy's DOP853, of order eight with its own estimate of the error: E. Hairer,
S. P. Norsett and G. Wanner, Solving Ordinary Differential Equations I, 2nd ed., 1993, sec. II.5.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import lru_cache
from typing import Any

import casadi as ca
import numpy as np

from ascentopt.flight.compiled.table_pieces import TablePieces
from ascentopt.flight.dynamics.forces import Forces, Instant, forces
from ascentopt.flight.dynamics.state import MASS, motion
from ascentopt.flight.guidance.direction import FormulaKey, View, direction_of, view_of
from ascentopt.flight.guidance.throttle import throttle_of
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.numerics.lifted import Lifted
from ascentopt.typing import Expr

LOADS = ("dynamic pressure", "q alpha", "axial acceleration")
"""Pa, Pa rad and m/s^2: what a step reports of the places where it begins and ends."""

STATE, CLOCKS = 7, 3  # time, elapsed, phase_time
RELATIVE = 1e-9
ABSOLUTE = (*(1e-2,) * 3, *(1e-5,) * 3, 1e-5)  # m, m/s, kg


@dataclass(frozen=True, eq=False)
class StepFunction:
    """What a kind of arc and a form of steering compile to.

    Attributes:
        step: of clocks, state and length (11), the arc's numbers, the formula's, and the rows of
            the tables. Returns the state at the end (7), the error in units of the tolerance, and
            the altitude there; then loads (3) and arguments of the tables where the step begins,
            their slopes, and the same where it ends.
        scout: arguments of the tables, of clocks and state (10) and both kinds of numbers.
        tables: one for each argument, to be copied by whoever flies; where the formula is a piece
            of one with corners, the abscissa of these is one more argument, after all others.
        rates, read: what a step is made of, where a direction must be computed for each of its
            stages: rates of the state (7); these, the altitude, what is read of one end and its
            slopes. Of clocks and state (10), both kinds of numbers, and rows of the tables; the
            second also of the rates at which the formula's numbers change.
    """

    step: ca.Function
    scout: ca.Function
    tables: tuple[TablePieces, ...]
    rates: ca.Function
    read: ca.Function


@lru_cache(maxsize=256)
def step_function(
    kind: ArcKind, key: FormulaKey | None, bent: FormulaKey | None = None
) -> StepFunction:
    """Compile it; `bent` is the formula with corners of which the other is a piece."""
    symbols, now, view = _forces(kind, key)
    powered = kind.guidance is not Guidance.COAST
    column = ca.vertcat(motion(now), now.altitude, *_loads(now, powered=powered))
    lifted = Lifted.of(ca.cse(ca.densify(column)))
    value, arguments, rows = _told(lifted)
    abscissa = bent.formula.abscissa(view) if bent is not None else ca.SX(0, 1)  # type: ignore[attr-defined]
    arguments = ca.vertcat(arguments, abscissa)
    picked = [one for lookup in lifted.lookups for one in lookup.picked]
    given = [*symbols, rows]
    readings = ca.vertcat(value[STATE + 1 :], arguments)
    moving = ca.vertcat(ca.DM.ones(CLOCKS), value[:STATE])
    slopes = ca.jtimes(readings, symbols[0], moving)
    whole = ca.vertcat(value[: STATE + 1], readings, slopes)
    read = ca.Function("read", given, [ca.cse(ca.densify(whole))])
    turning = ca.SX.sym("turning", symbols[2].numel())
    turned = ca.vertcat(
        whole[: STATE + 1], readings, slopes + ca.jtimes(readings, symbols[2], turning)
    )
    rates = ca.Function("rates", given, [ca.cse(value[:STATE])])
    return StepFunction(
        step=_step(rates, read),
        scout=ca.Function("scout", symbols, [ca.densify(ca.vertcat(_scouted(lifted), abscissa))]),
        tables=tuple(TablePieces.of_lookup(function) for function, _ in picked),
        rates=rates,
        read=ca.Function("read", [*given, turning], [ca.cse(ca.densify(turned))]),
    )


def _told(lifted: Lifted) -> tuple[Expr, Expr, Expr]:
    """Values, arguments of the tables, and symbols of their rows, of which the others are made."""
    symbols, meanings, rows = ca.SX(0, 1), ca.SX(0, 1), ca.SX(0, 1)
    arguments = ca.SX(0, 1)
    for lookup in lifted.lookups:
        argument = ca.substitute(lookup.argument, symbols, meanings)
        symbols = ca.vertcat(symbols, lookup.symbol)
        meanings = ca.vertcat(meanings, argument)
        for _, picked in lookup.picked:
            arguments, rows = ca.vertcat(arguments, argument), ca.vertcat(rows, picked)
    return ca.substitute(lifted.value, symbols, meanings), arguments, rows


def _scouted(lifted: Lifted) -> Expr:
    """Arguments of the tables, those that they depend on looked up."""
    symbols, meanings, arguments = ca.SX(0, 1), ca.SX(0, 1), ca.SX(0, 1)
    for lookup in lifted.lookups:
        argument = ca.substitute(lookup.argument, symbols, meanings)
        symbols, meanings = ca.vertcat(symbols, lookup.symbol), ca.vertcat(meanings, argument)
        for function, picked in lookup.picked:
            arguments = ca.vertcat(arguments, argument)
            symbols = ca.vertcat(symbols, picked)
            meanings = ca.vertcat(meanings, function(argument))
    return arguments


def _step(rates: ca.Function, read: ca.Function) -> ca.Function:
    x = ca.SX.sym("x", CLOCKS + STATE + 1)
    others = [ca.SX.sym("p", rates.size1_in(k)) for k in range(1, rates.n_in())]
    clocks, start, length = x[:CLOCKS], x[CLOCKS:-1], x[-1]

    def reading(part: float, state: Expr) -> Expr:
        return read(ca.vertcat(clocks + part * length, state), *others)

    def rate(part: float, state: Expr) -> Expr:
        return rates(ca.vertcat(clocks + part * length, state), *others)

    begin = reading(0.0, start)
    stages = [begin[:STATE]]
    dop = method()
    for part, row in zip(dop.C[1:], dop.A[1:], strict=False):
        stages.append(rate(part, start + length * _sum(row, stages)))
    end = start + length * _sum(dop.B, stages)
    there = reading(1.0, end)
    error = _error(start, end, length, stages)
    found = ca.vertcat(end, error, there[STATE], begin[STATE + 1 :], there[STATE + 1 :])
    return ca.Function("step", [x, *others], [ca.cse(found)])


def _error(start: Expr, end: Expr, length: Expr, stages: Sequence[Expr]) -> Expr:
    """In units of the tolerance."""
    dop = method()
    scale = ca.DM(ABSOLUTE) + RELATIVE * ca.fmax(ca.fabs(start), ca.fabs(end))
    fifth = ca.sumsqr(_sum(dop.E5, stages) / scale)
    third = ca.sumsqr(_sum(dop.E3, stages) / scale)
    divisor = ca.sqrt(ca.fmax((fifth + 0.01 * third) * STATE, 1e-300))
    return ca.fabs(length) * fifth / divisor


def method() -> Any:
    """Coefficients of the method, as SciPy holds them."""
    # Imported here: SciPy's integrators take longer to import than everything else together.
    from scipy.integrate import DOP853

    return DOP853


def _sum(weights: np.ndarray, stages: Sequence[Expr]) -> Expr:
    return sum(float(w) * stage for w, stage in zip(weights, stages, strict=False) if w)


def _loads(now: Forces, *, powered: bool) -> tuple[Expr, ...]:
    if not powered:
        return now.dynamic_pressure, 0.0, 0.0
    attack = ca.acos(ca.fmin(ca.fmax(now.cosine_of_attack, -1.0), 1.0))
    return now.dynamic_pressure, now.dynamic_pressure * attack, now.axial_acceleration


def _forces(kind: ArcKind, key: FormulaKey | None) -> tuple[list[Expr], Forces, View]:
    """Symbols (clocks and state, numbers, the formula's numbers), and what they make."""
    x, numbers = ca.SX.sym("x", CLOCKS + STATE), ca.SX.sym("p", len(kind.numbers))
    own = ca.SX.sym("q", 0 if key is None else len(key.formula.numbers))
    state = x[CLOCKS:]
    position, velocity = state[:3], state[3:6]
    view = view_of(kind.body, (x[0], x[2]), position, velocity)
    direction = ca.SX.zeros(3) if key is None else direction_of(key.formula, view, own)
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
    if key is not None:
        throttle = throttle_of(kind, key.formula, view, (instant, own))
        instant = replace(instant, throttle=throttle)
    return [x, numbers, own], forces(kind, instant), view
