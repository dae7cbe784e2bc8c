"""Where a value passes zero, in few evaluations."""

from __future__ import annotations

from collections.abc import Callable
from math import exp, sqrt, tan

import pytest

from ascentopt.numerics.root_bracket import Point, passes_zero

CLOSE = 1e-9
CURVES: dict[str, tuple[Callable[[float], float], float]] = {
    "straight": (lambda x: x - 0.3, 0.3),
    "curved": (lambda x: x * x + x - 0.5, (sqrt(3.0) - 1.0) / 2.0),
    "steep at the end": (lambda x: exp(20.0 * x) - 1e5, 0.5756462732485115),
    "flat at the end": (lambda x: 1.0 - exp(-30.0 * (x - 0.05)), 0.05),
    "bounded": (lambda x: tan(1.5 * (x - 0.7)), 0.7),
    "at the end": (lambda x: x - 1.0, 1.0),
    "a jump": (lambda x: 1.0 if x > 0.61 else -3.0, 0.61),
}


@pytest.mark.parametrize("name", CURVES)
def test_it_finds_the_place(name: str) -> None:
    curve, root = CURVES[name]
    asked = []

    def value(x: float) -> float:
        asked.append(x)
        return curve(x)

    found = passes_zero(value, Point(0.0, curve(0.0)), Point(1.0, curve(1.0)), CLOSE)
    assert found == pytest.approx(root, abs=1e-8)
    assert asked[-1] == found  # a flight stands where it was asked for last
    assert len(asked) < 50
    if name in ("straight", "at the end"):
        assert len(asked) == 1


@pytest.mark.parametrize("name", [name for name in CURVES if name != "a jump"])
def test_with_slopes_it_takes_fewer(name: str) -> None:
    curve, root = CURVES[name]
    asked: list[float] = []

    def value(x: float) -> float:
        asked.append(x)
        return curve(x)

    def slope(x: float) -> float:
        return (curve(x + 1e-6) - curve(x - 1e-6)) / 2e-6

    low, high = (Point(x, curve(x), slope(x)) for x in (0.0, 1.0))
    found = passes_zero(value, low, high, CLOSE, slope)
    assert found == pytest.approx(root, abs=1e-8)
    assert asked[-1] == found
    with_slopes = len(asked)
    asked.clear()
    passes_zero(value, Point(0.0, curve(0.0)), Point(1.0, curve(1.0)), CLOSE)
    assert with_slopes <= len(asked)
