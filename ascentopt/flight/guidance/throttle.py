"""The throttle that a formula asks for."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial

import casadi as ca

from ascentopt.flight.dynamics.forces import Instant, forces
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.direction import (
    SOON,
    Formula,
    FormulaKey,
    Push,
    View,
    direction_of,
    view_of,
)
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.typing import Expr
from ascentopt.world.air import air_velocity
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude

_CLOCKS, _STATE = 3, 7  # time, elapsed and phase_time; position, velocity and mass


def throttle_at(now: Moment, formula: Formula) -> float:
    """Fraction of the core's full thrust at a moment."""
    kind, key, numbers = now.arc.kind, formula.key, formula.numbers
    if formula.computed is not None:
        numbers = (*formula.computed(now), *numbers[3:])
    function = now.kept((kind, key), partial(_throttle_function, kind, key))
    place, own, others = function.given
    place[:_CLOCKS] = now.time, now.elapsed, now.phase_elapsed
    place[_CLOCKS:], own[:], others[:] = now.state[:_STATE], now.arc.numbers, numbers
    function.evaluate()
    return float(function.found[0])


def throttle_of(kind: ArcKind, formula: Formula, view: View, ahead: tuple[Instant, Expr]) -> Expr:
    """The same as an expression; `ahead` is the instant, and the formula's numbers."""
    instant, own = ahead
    if not formula.throttles:
        return 1.0
    none, full = (forces(kind, replace(instant, throttle=share)) for share in (0.0, 1.0))
    return formula.throttle(view, Push(none, full, _later(kind.body, instant)), own)


def _later(body: Body, instant: Instant) -> Expr | None:
    """Dynamic pressure in Pa a moment later, the velocity being the same."""
    if body.atmosphere is None:
        return None
    place = instant.position + SOON * instant.velocity
    through = air_velocity(body, place, instant.velocity)
    return 0.5 * body.atmosphere.density(altitude(body, place)) * ca.sumsqr(through)


@lru_cache(maxsize=64)
def _throttle_function(kind: ArcKind, key: FormulaKey) -> ca.Function:
    x, numbers = ca.SX.sym("x", _CLOCKS + _STATE), ca.SX.sym("p", len(kind.numbers))
    own, state = ca.SX.sym("q", len(key.formula.numbers)), x[_CLOCKS:]
    view = view_of(kind.body, (x[0], x[2]), state[:3], state[3:6])
    instant = Instant(
        time=x[0],
        elapsed=x[1],
        position=state[:3],
        velocity=state[3:6],
        mass=state[MASS],
        direction=direction_of(key.formula, view, own),
        throttle=1.0,
        numbers=numbers,
    )
    found = throttle_of(kind, key.formula, view, (instant, own))
    return ca.Function("throttle", [x, numbers, own], [ca.densify(ca.cse(ca.SX(found)))])
