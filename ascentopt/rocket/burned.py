"""A thrust curve by what has been burned: a motor's own clock, readable off the mass."""

from __future__ import annotations

import numpy as np
from numpy.polynomial import polynomial

from ascentopt.typing import Floats
from ascentopt.world.table import SmoothTable

_LIT = 0.2032
"""Share of the thrust at the second knot that stands for none at the first. By the mass a motor
without thrust would never begin to burn. Thrust that rises evenly with the time t to T burns
T t / 2 / exhaust; told as a straight line against what is burned, from x T to T, the same takes
t ln(1/x) / (1 - x) / 2, which is t for this x."""

PIECES = 12
"""Knots for each of the curve's, closer towards its ends, where the curvature is left out: the
whole burn then takes the motor's propellant to a few millionths of a per cent."""


def by_burned(curve: SmoothTable, exhaust: float) -> SmoothTable:
    """Thrust in N against the kilograms burned, from thrust against time in s.

    Values, slopes and curvatures at the knots are the curve's own, by the chain rule with
    d burned/dt = thrust/exhaust. Only the curvature at the very ends is left out.

    Args:
        curve: of the vacuum thrust.
        exhaust: vacuum thrust over flow, m/s.
    """
    rows = [_piece(row, exhaust) for row in curve.pieces]
    burned = np.cumsum([0.0, *(row[0, -1] for row in rows)])
    joined = [row[:, :-1] + np.array([[start], [0], [0], [0]])
              for row, start in zip(rows, burned[:-1], strict=True)]  # fmt: skip
    end = rows[-1][:, -1:] + np.array([[burned[-2]], [0], [0], [0]])
    knots, values, slopes, curvatures = np.hstack([*joined, end])
    if values[0] == 0.0:
        values[0] = _LIT * values[1]
        slopes[0], curvatures[0] = (values[1] - values[0]) / (knots[1] - knots[0]), 0.0
    curvatures[0] = curvatures[-1] = 0.0
    return SmoothTable(
        knots=tuple(map(float, knots)), values=tuple(map(float, values)),
        slopes=tuple(map(float, slopes)), curvatures=tuple(map(float, curvatures)),
    )  # fmt: skip


def _piece(row: Floats, exhaust: float) -> Floats:
    """(4, n + 1) burned since the piece began, thrust, and its two derivatives by that."""
    inverse, c = row[1], row[2:]
    t = 0.5 - 0.5 * np.cos(np.linspace(0.0, np.pi, PIECES + 1))
    thrust = polynomial.polyval(t, c)
    first = inverse * polynomial.polyval(t, polynomial.polyder(c))
    second = inverse**2 * polynomial.polyval(t, polynomial.polyder(c, 2))
    burned = polynomial.polyval(t, polynomial.polyint(c)) / (inverse * exhaust)
    flow = thrust / exhaust
    lit = flow > 0.0  # the first point of a curve may have no thrust: see _LIT
    slope, bend = np.zeros_like(flow), np.zeros_like(flow)
    slope[lit] = first[lit] / flow[lit]
    bend[lit] = (second[lit] / flow[lit] - slope[lit] * first[lit] / thrust[lit]) / flow[lit]
    return np.array([burned, thrust, slope, bend])
