"""Horizontal thrust, throttled so that the apoapsis stays some seconds ahead."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import casadi as ca

from ascentopt.flight.guidance.direction import Formula, Push, View
from ascentopt.steering.formulas import Level
from ascentopt.typing import Expr
from ascentopt.validation import finite, positive, within

_PART = 0.25
"""Of the seconds ahead: by so much nearer, the thrust is seven eighths of the way from least to full
instead of half, about as gently as a hand does it (common practice, no source)."""

_LEAST_WIDTH = 2.0  # s


@dataclass(frozen=True, kw_only=True)
class HeldApoapsis(Formula):
    """As a last burn is flown by hand (common practice, no source).

    A burn ahead of the apoapsis pushes it on, and with less thrust the vehicle comes nearer to it:
    whoever throttles down as the time to the apoapsis grows, and up as it runs out, holds it ahead
    while the orbit grows round.

    Args:
        mu: gravitational parameter, m^3/s^2.
        ahead: s to the apoapsis at which the thrust is half way between least and full.
        least: throttle below which the engine does not go.
    """

    mu: float
    ahead: float
    least: float

    def __post_init__(self) -> None:
        positive("HeldApoapsis", "mu", self.mu, "m^3/s^2", "Give that of the body.")
        finite("HeldApoapsis", "ahead", self.ahead, "s", "Give seconds.")
        fix = "Give a fraction of full thrust."
        within("HeldApoapsis", "least", self.least, "", (0.0, 1.0), fix)

    @property
    def throttles(self) -> bool:
        """It does."""
        return True

    @property
    def numbers(self) -> tuple[float, ...]:
        """Parameter, seconds, the time in which the throttle changes, and the least."""
        width = max(_PART * abs(self.ahead), _LEAST_WIDTH)
        return self.mu, self.ahead, width, self.least

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Across the radius."""
        return Level().direction(view, ca.SX(0, 1))

    def throttle(self, view: View, push: Push, numbers: Expr) -> Expr:
        """More, the nearer the apoapsis is."""
        left = _time_to_apoapsis(numbers[0], view.position, view.velocity)
        share = 0.5 * (1.0 + ca.tanh((numbers[1] - left) / numbers[2]))
        return numbers[3] + (1.0 - numbers[3]) * share


def _time_to_apoapsis(mu: Expr, position: Expr, velocity: Expr) -> Expr:
    """As `world.orbital_elements.time_to_apoapsis` has it, of a closed orbit."""
    distance = ca.norm_2(position)
    inverse = 2.0 / distance - ca.sumsqr(velocity) / mu
    sine = ca.dot(position, velocity) * ca.sqrt(inverse / mu)
    mean = ca.atan2(sine, 1.0 - distance * inverse) - sine
    half = ca.if_else(mean >= 0.0, pi, -pi)
    return (half - mean) / (inverse * ca.sqrt(mu * inverse))
