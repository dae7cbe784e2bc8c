"""What a step lets expect: where loads peak, whether its tables held, and how long the next may be.

Compiled with the step: worked out one by one in Python it takes longer than the step. Every value
that is read at both ends, with its slope, is a cubic between them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import NamedTuple

import casadi as ca

from ascentopt.flight.compiled.table_pieces import HELD
from ascentopt.typing import Expr

LOADS = ("dynamic pressure", "q alpha", "axial acceleration")
"""Pa, Pa rad and m/s^2: what a step reports of the places where it begins and ends."""

GROWTH, SHRINKAGE, CAUTION, ROOT = 5.0, 0.2, 0.9, -0.125
"""How much longer and shorter the next step may be at once, and how that follows from the error of
a method of order eight; Hairer, Norsett and Wanner, sec. II.4."""

_LEAST_ERROR = 1e-8
_WILL_NOT_COME = 4.0  # times as far as an argument comes at its present rate in the next step
_POLISHES = 5
_FINITE = 1e300


class Foresight(NamedTuple):
    """In the order in which a step tells it.

    Attributes:
        passed: whether a piece of a table ceased to hold on the step; 1 or 0.
        moved: whether one of them is another where it ends; 1 or 0.
        usual: s that the next step may be long by the error of this one, if that is accepted.
        knot: s from its end to the next knot of a table; infinite where that is unknown or far.
        peaks: (3,) greatest loads on it.
    """

    passed: Expr
    moved: Expr
    usual: Expr
    knot: Expr
    peaks: tuple[Expr, ...]


FORETOLD = 4 + len(LOADS)


@lru_cache(maxsize=32)
def foresight(tables: int) -> ca.Function:
    """All of it, as a column.

    Of error and length, the values and slopes of both ends, where the pieces of the tables hold
    (`TablePieces.held` of each), and how long steps were and the leniency (2).
    """
    count = len(LOADS) + tables
    made, read = ca.SX.sym("made", 2), ca.SX.sym("read", 4 * count)
    held, pace = ca.SX.sym("held", HELD * tables), ca.SX.sym("pace", 2)
    found = foretold((made[0], made[1]), read, held, pace)
    column = ca.vertcat(*found[:-1], *found.peaks)
    return ca.Function("foresight", [made, read, held, pace], [ca.cse(ca.densify(column))])


def foretold(made: tuple[Expr, Expr], read: Expr, held: Expr, pace: Expr) -> Foresight:
    """As of `foresight`; `made` is the error and the length."""
    error, length = made
    count, loads = read.numel() // 4, len(LOADS)
    cubics = [_Cubic([read[k + part * count] for part in range(4)], length) for k in range(count)]
    usual = _usual(error / pace[1], length, pace[0])
    rows = [_Held(held[k : k + HELD]) for k in range(0, held.numel(), HELD)]
    tables = list(zip(cubics[loads:], rows, strict=True))
    return Foresight(
        passed=_any([held.passes(cubic.extreme()) for cubic, held in tables]),
        moved=_any([held.moves(cubic.end, cubic.end_slope < 0.0) for cubic, held in tables]),
        usual=usual,
        knot=_to_knot([(cubic, held.missing(cubic)) for cubic, held in tables], usual),
        peaks=tuple(cubic.greatest() for cubic in cubics[:loads]),
    )


def _usual(error: Expr, length: Expr, before: Expr) -> Expr:
    """A step that had to end early, as at a knot, tells nothing against longer ones."""
    grown = length * ca.fmin(GROWTH, CAUTION * ca.fmax(error, _LEAST_ERROR) ** ROOT)
    return ca.if_else(length < before, ca.fmax(before, grown), grown)


class _Held:
    """Of a piece of a table; see `TablePieces.held`."""

    def __init__(self, row: Expr) -> None:
        self.lowest, self.highest, self.left, self.passed = ca.vertsplit(row[:4])
        self.knots, self.beyond = ca.vertsplit(row[4:6]), ca.vertsplit(row[6:])

    def passes(self, at: Expr) -> Expr:
        return ca.logic_or(at < self.lowest, at > self.highest)

    def moves(self, at: Expr, falls: Expr) -> Expr:
        """Whether the argument is another piece's, the way that it goes."""
        down = ca.logic_or(at <= self.left, at > self.highest)
        up = ca.logic_or(at < self.lowest, at >= self.passed)
        return ca.if_else(falls, down, up)

    def missing(self, cubic: _Cubic) -> Expr:
        """From the end of a cubic to the next knot."""
        at = cubic.end
        down = ca.if_else(at <= self.left, self.beyond[0], self.knots[0])
        up = ca.if_else(at >= self.passed, self.beyond[1], self.knots[1])
        return ca.if_else(cubic.end_slope < 0.0, down, up) - at


def _to_knot(ways: Sequence[tuple[_Cubic, Expr]], usual: Expr) -> Expr:
    """Seconds along the cubic that comes to its knot first at its present rate."""
    if not ways:
        return ca.SX(ca.inf)
    first, *others = [(_linear(*way), *way[0].onwards(), way[1]) for way in ways]
    for other in others:
        sooner = other[0] < first[0]
        first = tuple(ca.if_else(sooner, a, b) for a, b in zip(other, first, strict=True))
    soon, slope, second, third, missing = first
    root = slope**2 + 2.0 * second * missing
    time = 2.0 * missing / (slope + _signed(ca.sqrt(ca.fmax(root, 0.0)), slope))
    arrives = soon <= _WILL_NOT_COME * usual
    for _ in range(_POLISHES):
        rate = slope + time * (second + 0.5 * time * third)
        arrives = ca.logic_and(arrives, rate * missing > 0.0)
        here = time * (slope + time * (0.5 * second + time * third / 6.0))
        time += (missing - here) / rate
    arrives = ca.logic_and(arrives, time > 0.0)
    return ca.if_else(missing == 0.0, 0.0, ca.if_else(arrives, time, ca.inf))


def _linear(cubic: _Cubic, missing: Expr) -> Expr:
    """S at the present rate; infinite for what does not move towards it."""
    comes = cubic.end_slope * missing > 0.0
    return ca.if_else(comes, missing / cubic.end_slope, ca.inf)


class _Cubic:
    """As `table_pieces.Cubic`, of expressions."""

    def __init__(self, ends: Sequence[Expr], length: Expr) -> None:
        self.begin, slope, self.end, end_slope = ends
        mean = (self.end - self.begin) / length
        finite = ca.fabs(slope) + ca.fabs(end_slope) < _FINITE
        self.slope = ca.if_else(finite, slope, mean)
        self.end_slope = ca.if_else(finite, end_slope, mean)
        self.second = (6.0 * mean - 4.0 * self.slope - 2.0 * self.end_slope) / length
        self.third = 6.0 * (self.slope + self.end_slope - 2.0 * mean) / length**2
        self.length = length

    def onwards(self) -> tuple[Expr, Expr, Expr]:
        """Slope, second and third derivative at the end."""
        return self.end_slope, self.second + self.length * self.third, self.third

    def extreme(self) -> Expr:
        """Where it turns round between its ends the value there, else that at its end."""
        root = ca.sqrt(ca.fmax(self.second**2 - 2.0 * self.slope * self.third, 0.0))
        time = -2.0 * self.slope / (self.second - _signed(root, self.slope))
        bend = 0.5 * self.second + time * self.third / 6.0
        there = self.begin + time * (self.slope + time * bend)
        return ca.if_else(self.slope * self.end_slope < 0.0, there, self.end)

    def greatest(self) -> Expr:
        """Greatest value, the ends included."""
        rises = ca.logic_and(self.slope > 0.0, self.end_slope < 0.0)
        ends = ca.fmax(self.begin, self.end)
        return ca.if_else(rises, ca.fmax(ends, self.extreme()), ends)


def _signed(size: Expr, like: Expr) -> Expr:
    return ca.if_else(like > 0.0, size, -size)


def _any(told: Sequence[Expr]) -> Expr:
    found: Expr = ca.SX(0.0)
    for one in told:
        found = ca.logic_or(found, one)
    return found
