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
"""Of the seconds ahead: an apoapsis nearer by so much calls for seven eighths of what there is
between least and full thrust, not half. As gently as a hand (common practice, no source)."""

_LEAST_WIDTH = 2.0  # s
_ROUNDEST = 1e-9  # eccentricity below which rounding decides
_ROUNDING = 0.02  # of eccentricity, in which the throttle goes down to its least


@dataclass(frozen=True, kw_only=True)
class HeldApoapsis(Formula):
    """As a last burn is flown by hand (common practice, no source).

    A burn ahead of the apoapsis pushes it on, and with less thrust the vehicle comes nearer to it:
    whoever throttles down as the time to the apoapsis grows, and up as it runs out, holds it ahead
    while the orbit grows round. A circle has none: for the last of it the throttle stays least.

    Args:
        mu: gravitational parameter, m^3/s^2.
        ahead: s to the apoapsis at which the thrust is half way between least and full.
        nearly_round: eccentricity below which the throttle is the least.
        least: throttle below which the engine does not go.
    """

    mu: float
    ahead: float
    nearly_round: float
    least: float

    def __post_init__(self) -> None:
        positive("HeldApoapsis", "mu", self.mu, "m^3/s^2", "Give that of the body.")
        finite("HeldApoapsis", "ahead", self.ahead, "s", "Give seconds.")
        fix = "Give an eccentricity, 0 to hold it to the end."
        finite("HeldApoapsis", "nearly_round", self.nearly_round, "", fix)
        fix = "Give a fraction of full thrust."
        within("HeldApoapsis", "least", self.least, "", (0.0, 1.0), fix)

    @property
    def throttles(self) -> bool:
        """It does."""
        return True

    @property
    def numbers(self) -> tuple[float, ...]:
        """As declared, after the seconds the time in which the throttle changes."""
        width = max(_PART * abs(self.ahead), _LEAST_WIDTH)
        return self.mu, self.ahead, width, self.nearly_round, self.least

    def direction(self, view: View, numbers: Expr) -> Expr:
        """Across the radius."""
        return Level().direction(view, ca.SX(0, 1))

    def throttle(self, view: View, push: Push, numbers: Expr) -> Expr:
        """More, the nearer the apoapsis is."""
        left, eccentricity = _time_and_shape(numbers[0], view.position, view.velocity)
        share = _rising((numbers[1] - left) / numbers[2])
        share *= _rising((eccentricity - numbers[3]) / _ROUNDING)
        return numbers[4] + (1.0 - numbers[4]) * share


def _rising(at: Expr) -> Expr:
    """From nothing to one, smoothly."""
    return 0.5 * (1.0 + ca.tanh(at))


def _time_and_shape(mu: Expr, position: Expr, velocity: Expr) -> tuple[Expr, Expr]:
    """Seconds to the apoapsis, as `world.orbital_elements` has them, and eccentricity."""
    distance = ca.norm_2(position)
    inverse = 2.0 / distance - ca.sumsqr(velocity) / mu
    sine = ca.dot(position, velocity) * ca.sqrt(inverse / mu)
    cosine = 1.0 - distance * inverse
    mean = ca.atan2(sine, cosine) - sine
    half = ca.if_else(mean >= 0.0, pi, -pi)
    left = (half - mean) / (inverse * ca.sqrt(mu * inverse))
    return left, ca.sqrt(sine**2 + cosine**2 + _ROUNDEST**2)
