"""Which kick leads through which angle at an altitude: a table that knows where it is sure."""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import dataclass
from itertools import pairwise
from math import exp, log

import numpy as np

from ascentopt.rules.laws.kick_for_angle import FALLEN, LEAST_KICK, MOST_KICK, LeanAfterKick
from ascentopt.rules.laws.rule import Pad
from ascentopt.typing import Floats

_SCAN = 13  # kicks to begin with, evenly in the logarithm
_ROUNDS = 6  # of halving between those that are too far apart
_CLOSE = 1e-4  # rad by which a cubic may miss a lean before its stretch is halved
"""Halving leaves a sixteenth of it, less than the root finder of `AngleRule` is asked for."""


@dataclass(frozen=True, eq=False, kw_only=True)
class LeanTable:
    """Kicks over leans at one altitude, by a cubic spline.

    Attributes:
        altitude: m.
        heading: rad, of the flights.
        leans: (n,) rad, increasing.
        kicks: (n,) logarithms of the kicks in rad.
        sure: (n - 1,) whether the spline was right in the middle of a stretch.
    """

    altitude: float
    heading: float
    leans: Floats
    kicks: Floats
    sure: tuple[bool, ...]

    def kick(self, lean: float) -> float | None:
        """Rad; None where the table is not sure."""
        place = bisect_right(self.leans.tolist(), lean) - 1
        if not 0 <= place < len(self.sure) or not self.sure[place]:
            return None
        return exp(float(_spline(self.leans, self.kicks)(lean)))


def lean_table(altitude: float, pad: Pad, wanted: tuple[float, ...]) -> LeanTable:
    """The table for leans from the first to the last that is wanted."""
    leaning = LeanAfterKick(altitude, pad)
    flown: dict[float, float] = {}
    for kick in np.linspace(log(LEAST_KICK), log(MOST_KICK), _SCAN):
        flown[float(kick)] = leaning(float(kick))
        if flown[float(kick)] >= FALLEN:
            break
    right: set[float] = set()  # kicks in the middle of stretches where the spline was right
    for _ in range(_ROUNDS):
        kicks, leans = _rising(flown)
        spline = _spline(leans, kicks) if len(kicks) > 3 else None
        middles = _middles(flown, wanted, right)
        for middle in middles:
            found = flown[middle] = leaning(middle)
            if spline is not None and leans[0] <= found <= leans[-1]:
                steep = float(spline(found, 1))
                if abs(float(spline(found)) - middle) < _CLOSE * abs(steep):
                    right.add(middle)
        if not middles:
            break
    kicks, leans = _rising(flown)
    sure = tuple(bool({a, b} & right) for a, b in pairwise(kicks))
    return LeanTable(altitude=altitude, heading=pad.heading, leans=leans, kicks=kicks, sure=sure)


def _middles(
    flown: dict[float, float], wanted: tuple[float, ...], right: set[float]
) -> list[float]:
    """Kicks halfway between neighbours with a lean that is wanted between theirs, if not right."""
    kicks = sorted(flown)
    pairs = [
        (a, b)
        for a, b in pairwise(kicks)
        if flown[a] < wanted[-1] and flown[b] > wanted[0] and not {a, b} & right
    ]
    return [0.5 * (a + b) for a, b in pairs if flown[a] < FALLEN]


def _rising(flown: dict[float, float]) -> tuple[Floats, Floats]:
    """(n,) kicks and leans, as far as the leans rise with the kicks and nothing falls."""
    kicks: list[float] = []
    for kick in sorted(flown):
        if flown[kick] >= FALLEN:
            break
        if not kicks or flown[kick] > flown[kicks[-1]]:
            kicks.append(kick)
    return np.array(kicks), np.array([flown[kick] for kick in kicks])


def _spline(leans: Floats, kicks: Floats):  # type: ignore[no-untyped-def]
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.interpolate import CubicSpline

    return CubicSpline(leans, kicks)
