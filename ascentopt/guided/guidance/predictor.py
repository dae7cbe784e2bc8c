"""The rest of a burn as guidance predicts it: linear tangent thrust in the body's gravity.

The thrust points along a vector p that changes linearly with time, so that where gravity is uniform
the tangent of the pitch does (D. F. Lawden, Optimal Trajectories for Space Navigation, 1963, from
memory). Thrust is constant: the acceleration is a / (1 - t / tau), tau the exhaust speed over a.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache

import casadi as ca

from ascentopt.typing import Expr
from ascentopt.world.body import Body
from ascentopt.world.gravity import gravity

PREDICTED = 6
"""Position and velocity."""

UNKNOWN = 7
"""p now, its rate, and the seconds of the last burn."""


@dataclass(frozen=True)
class PhaseForm:
    """How a phase is predicted: whose gravity acts, and steps of equal gain in speed."""

    body: Body
    steps: int


@lru_cache(maxsize=64)
def phase_function(form: PhaseForm) -> ca.Function:
    """A phase with its slopes.

    From the state (6), its slopes by the unknowns (42, a column after another), p and its rate (6),
    and the phase's burn: its begin from now on, length, acceleration and tau, and whether its
    length is the unknown one (5), to state and slopes at its end (48).
    """
    x, slopes = ca.SX.sym("x", PREDICTED), ca.SX.sym("s", PREDICTED * UNKNOWN)
    law, burn = ca.SX.sym("law", 6), ca.SX.sym("b", 5)
    end = _flown(form, x, law, burn)
    own = ca.vertcat(ca.SX.eye(UNKNOWN)[:6, :], burn[4] * ca.SX.eye(UNKNOWN)[6, :])
    seeds = ca.vertcat(ca.reshape(slopes, PREDICTED, UNKNOWN), own)
    moved = ca.jtimes(end, ca.vertcat(x, law, burn[1]), seeds)
    found = ca.vertcat(end, ca.reshape(moved, -1, 1))
    return ca.Function("phase", [x, slopes, law, burn], [ca.cse(ca.densify(found))])


def _flown(form: PhaseForm, x: Expr, law: Expr, burn: Expr) -> Expr:
    """State at the end.

    Steps end where equal parts of the speed are gained: the acceleration then grows by the same
    factor over each.
    """
    tau = burn[3]
    rate = ca.log1p(-burn[1] / tau) / form.steps
    before = ca.SX(0.0)
    for k in range(form.steps):
        after = -tau * ca.expm1((k + 1) * rate)
        x = _step(form, x, (before, after), law, burn)
        before = after
    return x


def _step(form: PhaseForm, x: Expr, between: tuple[Expr, Expr], law: Expr, burn: Expr) -> Expr:
    h = between[1] - between[0]
    middle = between[0] + 0.5 * h
    pushes = [_push(time, law, burn) for time in (between[0], middle, between[1])]

    def rates(at: Expr, push: Expr) -> Expr:
        return ca.vertcat(at[3:6], gravity(form.body, at[:3]) + push)

    k1 = rates(x, pushes[0])
    k2 = rates(x + 0.5 * h * k1, pushes[1])
    k3 = rates(x + 0.5 * h * k2, pushes[1])
    k4 = rates(x + h * k3, pushes[2])
    return x + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)


def _push(time: Expr, law: Expr, burn: Expr) -> Expr:
    """(3,) m/s^2 of thrust at a time of the phase."""
    p = law[:3] + (burn[0] + time) * law[3:6]
    return burn[2] / (1.0 - time / burn[3]) * p / ca.norm_2(p)
