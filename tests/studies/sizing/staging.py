"""Optimal staging in closed form, and the rockets in which it is all there is to know.

H. D. Curtis, *Orbital Mechanics for Engineering Students*, chapter on rocket vehicle dynamics: the
least mass at lift-off for a payload and a burnout speed, by a Lagrange multiplier of the speed.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import log

from scipy.optimize import brentq

from ascentopt.units import STANDARD_GRAVITY


@dataclass(frozen=True)
class Staging:
    """Mass ratios, and masses in kg of whole steps, from the first to fly upwards."""

    multiplier: float
    ratios: tuple[float, ...]
    steps: tuple[float, ...]
    lift_off_mass: float


def least_lift_off_mass(
    isp: tuple[float, ...], structural: tuple[float, ...], payload: float, speed: float
) -> Staging:
    """Of steps with these specific impulses in s and dry masses as a share of their own."""
    pairs = [(STANDARD_GRAVITY * one, share) for one, share in zip(isp, structural, strict=True)]

    def excess(eta: float) -> float:
        return sum(c * log((c * eta - 1.0) / (c * e * eta)) for c, e in pairs) - speed

    least = 1.0 / min(c for c, _ in pairs)
    eta = brentq(excess, least * (1.0 + 1e-9), 1e4 * least, xtol=1e-18)
    ratios = [(c * eta - 1.0) / (c * e * eta) for c, e in pairs]
    steps: list[float] = []
    above = payload
    for n, (_, e) in reversed([*zip(ratios, pairs, strict=True)]):
        steps.insert(0, (n - 1.0) / (1.0 - n * e) * above)
        above += steps[0]
    return Staging(eta, tuple(ratios), tuple(steps), above)
