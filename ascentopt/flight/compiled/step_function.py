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

from ascentopt.flight.compiled.foresight import foresight
from ascentopt.flight.compiled.table_pieces import TablePieces
from ascentopt.flight.dynamics.forces import Forces, Instant, forces
from ascentopt.flight.dynamics.state import MASS, motion
from ascentopt.flight.guidance.direction import FormulaKey, View, direction_of, view_of
from ascentopt.flight.guidance.throttle import throttle_of
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.numerics.lifted import Lifted
from ascentopt.typing import Expr

STATE, CLOCKS = 7, 3  # time, elapsed, phase_time
RELATIVE = 1e-9
ABSOLUTE = (*(1e-2,) * 3, *(1e-5,) * 3, 1e-5)  # m, m/s, kg


PLAIN = STATE + 2
"""How many things a reading tells before the values with slopes: rates (7), altitude (m), and what
the air does (m/s^2)."""


@dataclass(frozen=True, eq=False)
class StepFunction:
    """What a kind of arc and a form of steering compile to.

    A reading is what is told of an end of a step: `PLAIN` numbers, then the values of loads (3) and
    of the arguments of tables there, and their slopes.

    Attributes:
        step: of clocks, state and length (11), the arc's numbers, the formula's, the rows of the
            tables, the reading where it begins, where the rows hold, and how long steps were and
            the leniency (2). Returns the state at the end (7), the error in units of the tolerance,
            what the step lets expect (`foresight.Foresight`), and the reading there.
        read: the reading, of clocks and state (10), both kinds of numbers, and the rows.
        scout: arguments of the tables, of clocks and state and both kinds of numbers.
        tables: one for each argument, to be copied by whoever flies; where the formula is a piece
            of one with corners, the abscissa of these is one more argument, after all others.
        rates, aside, foresight: what a step is made of, where a direction must be computed for each
            of its stages: the rates alone; a reading, given the rates at which the formula's
            numbers change as well; and what is foretold of error and length, values and slopes of
            both ends, and the last two that the step is given.
    """

    step: ca.Function
    read: ca.Function
    scout: ca.Function
    tables: tuple[TablePieces, ...]
    rates: ca.Function
    aside: ca.Function
    foresight: ca.Function


@lru_cache(maxsize=256)
def step_function(
    kind: ArcKind, key: FormulaKey | None, bent: FormulaKey | None = None
) -> StepFunction:
    """Compile it; `bent` is the formula with corners of which the other is a piece."""
    symbols, now, view = _forces(kind, key)
    powered = kind.guidance is not Guidance.COAST
    column = ca.vertcat(motion(now), now.altitude, _air(now), *_loads(now, powered=powered))
    lifted = Lifted.of(ca.cse(ca.densify(column)))
    value, arguments, rows = _told(lifted)
    abscissa = bent.formula.abscissa(view) if bent is not None else ca.SX(0, 1)  # type: ignore[attr-defined]
    arguments = ca.vertcat(arguments, abscissa)
    picked = [one for lookup in lifted.lookups for one in lookup.picked]
    given = [*symbols, rows]
    values = ca.vertcat(value[PLAIN:], arguments)
    moving = ca.vertcat(ca.DM.ones(CLOCKS), value[:STATE])
    slopes = ca.jtimes(values, symbols[0], moving)
    turning = ca.SX.sym("turning", symbols[2].numel())
    turned = slopes + ca.jtimes(values, symbols[2], turning)
    whole, aside = (ca.vertcat(value[:PLAIN], values, one) for one in (slopes, turned))
    rates = ca.Function("rates", given, [ca.cse(value[:STATE])])
    read = ca.Function("read", given, [ca.cse(ca.densify(whole))])
    ahead = foresight(arguments.numel())
    return StepFunction(
        step=_step(rates, read, ahead),
        read=read,
        scout=ca.Function("scout", symbols, [ca.densify(ca.vertcat(_scouted(lifted), abscissa))]),
        tables=tuple(TablePieces.of_lookup(function) for function, _ in picked),
        rates=rates,
        aside=ca.Function("aside", [*given, turning], [ca.cse(ca.densify(aside))]),
        foresight=ahead,
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


def _step(rates: ca.Function, read: ca.Function, ahead: ca.Function) -> ca.Function:
    x = ca.SX.sym("x", CLOCKS + STATE + 1)
    others = [ca.SX.sym("p", rates.size1_in(k)) for k in range(1, rates.n_in())]
    begin = ca.SX.sym("begin", read.numel_out(0))
    held, pace = (ca.SX.sym("s", ahead.size1_in(k)) for k in (2, 3))
    clocks, start, length = x[:CLOCKS], x[CLOCKS:-1], x[-1]

    def after(part: float, state: Expr) -> list[Expr]:
        return [ca.vertcat(clocks + part * length, state), *others]

    stages: list[Expr] = [begin[:STATE]]
    dop = method()
    for part, row in zip(dop.C[1:], dop.A[1:], strict=False):
        stages.append(rates(*after(part, start + length * _sum(row, stages))))
    end = start + length * _sum(dop.B, stages)
    there = read(*after(1.0, end))
    error = _error(start, end, length, stages)
    told = ca.vertcat(begin[PLAIN:], there[PLAIN:])
    foretold = ahead(ca.vertcat(error, length), told, held, pace)
    found = ca.vertcat(end, error, foretold, there)
    return ca.Function("step", [x, *others, begin, held, pace], [ca.cse(found)])


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


def _air(now: Forces) -> Expr:
    """What the air does, at the most, m/s^2."""
    return (ca.norm_2(now.aerodynamic) + now.vacuum_thrust - now.thrust) / now.instant.mass


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
