"""Rules as a user writes them, with nothing but the public face."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import casadi as ca
import numpy as np

import ascentopt as ao
from ascentopt.typing import Expr
from ascentopt.units import km

HEIGHT = ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km)


class RootLean(ao.Rule):
    """Leans from the vertical as the square root of the altitude."""

    name = "root lean"
    open = (HEIGHT,)

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        """Level at the height, and above."""
        share = ca.fmin(view.altitude / numbers[0], 1.0)
        return view.leaned(0.5 * pi * ca.sqrt(share))


def root_lean(now: ao.HeadedMoment, numbers: tuple[float, ...]) -> np.ndarray:
    """The same as a plain function."""
    return now.leaned(0.5 * pi * sqrt(min(now.altitude / numbers[0], 1.0)))


ROOT = RootLean()
ROOT_CALLED = ao.CallableRule(name="root lean, called", open=(HEIGHT,), function=root_lean)

SHAPES = (
    ao.Open(name="bend early", unit="rad", low=-1.5, high=1.5),
    ao.Open(name="bend late", unit="rad", low=-1.5, high=1.5),
    ao.Open(name="lean at the start", unit="rad", low=0.0, high=0.5),
    ao.Open(name="exponent", unit="", low=0.2, high=1.5, usual=0.5),
)


@dataclass(frozen=True)
class PowerLean(ao.Rule):
    """Leans by a power of the altitude, bent by up to three shapes more."""

    count: int

    @property
    def name(self) -> str:
        return f"power lean of {self.count} numbers"

    @property
    def open(self) -> tuple[ao.Open, ...]:
        return (*SHAPES[len(SHAPES) + 1 - self.count :], HEIGHT)

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        *shapes, height = numbers
        all_shapes: list[Expr] = [0.0, 0.0, 0.0, 0.5][: 4 - len(shapes)]
        early, late, start, exponent = all_shapes + shapes
        x = ca.fmin((view.altitude + 1.0) / height, 1.0)
        lean = start * (1.0 - x) + 0.5 * pi * x**exponent
        return view.leaned(lean + x * (1.0 - x) * (early * (1.0 - x) + late * x))
