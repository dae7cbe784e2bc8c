"""Right-hand side of the flight for numbers, one instant at a time, as fast as it can be called."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

import casadi as ca

from ascentopt.flight.dynamics.forces import forces
from ascentopt.flight.dynamics.losses import loss_rates
from ascentopt.flight.dynamics.state import PACKED, motion, unpacked
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats

SLIVER = 1e-9
"""s. Instants of an arc's clock and of a law that miss each other by rounding are one."""


@lru_cache(maxsize=128)
def _function(kind: ArcKind) -> ca.Function:
    x, numbers = ca.SX.sym("x", PACKED), ca.SX.sym("p", len(kind.numbers))
    now = forces(kind, unpacked(x, numbers))
    rates = ca.vertcat(motion(now), loss_rates(kind.body, now))
    return ca.Function("flight", [x, numbers], [ca.cse(rates)])


class MotionRates:
    """Time derivatives of state and losses on an arc; not to be shared by threads."""

    def __init__(self, kind: ArcKind, numbers: Sequence[float]) -> None:
        self._function = BufferedFunction(_function(kind))
        self._given, parameters = self._function.given
        parameters[:] = numbers

    def __call__(
        self,
        clock: tuple[float, float],
        state: Floats,
        direction: Sequence[float] | Floats,
        throttle: float,
    ) -> Floats:
        """(12,) rates at the clock (time, elapsed) and the state, of which 7 are read."""
        given = self._given
        given[:2] = clock
        given[2:9] = state[:7]
        given[9:12] = direction
        given[12] = throttle
        self._function.evaluate()
        return self._function.found.copy()


def thrust_breaks(arc: FlightArc, began: float) -> list[float]:
    """Seconds after the arc `began` (s) at which the third derivative of a thrust curve jumps."""
    kind, own = arc.kind, arc.parameters
    sides = zip(kind.side_curves, own.side_ignitions, strict=True)
    curves = [(motor, lit - began) for (motor, _), lit in sides]
    if kind.core_curve is not None and not kind.core_by_mass:
        lit = own.core_ignition - (0.0 if kind.core_clock_starts else began)
        curves.append((kind.core_curve, lit))
    return [lit + time for motor, lit in curves for time in motor.time]


def step_boundaries(
    arc: FlightArc, breaks: Sequence[float], began: float, limit: float
) -> list[float]:
    """Seconds into an arc to step on: where the law or a thrust curve is not smooth, and the end.

    `breaks` are the law's, s into the arc; the arc `began` at a time and lasts `limit` at most, s.
    """
    every = [*breaks, *thrust_breaks(arc, began)]
    return [*sorted(b for b in every if SLIVER < b < limit - SLIVER), limit]
