"""Tables along a step of integration: one piece of each holds from its beginning to its end.

A step that passes a knot is blind to it: its error estimate is that of a smooth curve. So whoever
steps lands on knots, and within a step every table is one polynomial, looked up once and not at
every stage.
"""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from math import inf, isfinite, sqrt

import casadi as ca
import numpy as np

from ascentopt.typing import Floats

_SAME = 1e-7
"""Of a table's size: what two neighbouring polynomials may differ by where one stands for both."""

_WIDEST = 0.05  # of the narrower of two pieces: the farthest that one goes on into the other
_NARROWEST = 1e-6  # likewise, where a table is nothing but zeros
_POLISHES = 8
_SHARP = 1e-7  # of the time to a knot
_CORNER = 1e-7  # of the way between the first corner and the last
_MOST_PIECES = 100_000
_LOWEST = -1e100

HELD = 8
"""How many numbers tell where a piece holds."""


class TablePieces:
    """Which piece of a table holds, for an argument that moves up or down.

    A knot counts as passed a little before it is reached, where it makes no difference: a step
    that was to land on it need not land exactly.

    Args:
        knots: increasing.
        slack: how far before each knot that is.
        rows: (knots + 1, m) numbers of the piece below the first knot, between them, and above.

    Attributes:
        index: how many knots lie below.
    """

    def __init__(self, knots: Floats, slack: Floats, rows: Floats) -> None:
        self._rows = rows
        self._knots: list[float] = [-inf, *knots.tolist(), inf]
        self._passed: list[float] = (knots - slack).tolist()
        self._left: list[float] = (knots + slack).tolist()
        self._lowest: list[float] = [-inf, *self._passed]
        self._highest: list[float] = [*self._left, inf]
        sides = (
            self._lowest, self._highest,
            [-inf, *self._left], [*self._passed, inf],
            self._knots[:-1], self._knots[1:],
            [-inf, *self._knots[:-2]], [*self._knots[2:], inf],
        )  # fmt: skip
        self._held: Floats = np.array(sides).T
        self.index: int = 0

    @classmethod
    def of_lookup(cls, lookup: ca.Function) -> TablePieces:
        """Of a function that picks the row of a piece for an argument.

        A row begins with the left end and the reciprocal width of the piece, and sixes of
        coefficients follow (`world.table`). Beyond its ends a table goes on as its end pieces do,
        which see to that themselves.
        """
        rows = _rows(lookup)
        knots = np.array([*rows[:, 0], rows[-1, 0] + 1.0 / rows[-1, 1]])
        return cls(knots, _slack(rows), np.vstack([rows[:1], rows, rows[-1:]]))

    @classmethod
    def of_corners(cls, knots: Sequence[float], rows: Sequence[Sequence[float]]) -> TablePieces:
        """Of a formula with corners at the knots: they are met as exactly as a step can tell."""
        places = np.array(knots)
        span = max(abs(float(places[-1] - places[0])), 1.0)
        return cls(places, np.full(len(places), _CORNER * span), np.array(rows))

    def select(self, at: float, slope: float) -> bool:
        """Take the piece that holds for an argument on its way; whether it is another one."""
        before: int = self.index
        falling = slope < 0.0
        self.index = bisect_left(self._left, at) if falling else bisect_right(self._passed, at)
        return self.index != before

    @property
    def row(self) -> Floats:
        """(m,) of the piece."""
        return np.asarray(self._rows[self.index])

    @property
    def held(self) -> Floats:
        """(`HELD`,) what holds of the piece, each below and above.

        As far as it holds, where an argument that goes that way takes the next one, the knot, and
        the knot beyond.
        """
        return np.asarray(self._held[self.index])

    def next_knot(self, slope: float) -> float:
        """The next knot for an argument that rises or falls."""
        return self._knots[self.index if slope < 0.0 else self.index + 1]

    def holds(self, at: float) -> bool:
        """Whether the piece holds for an argument."""
        return self._lowest[self.index] <= at <= self._highest[self.index]

    def knot_passed(self, at: float) -> float | None:
        """The knot that lies between the piece and the argument; None while the piece holds."""
        if at > self._highest[self.index]:
            return self._knots[self.index + 1]
        if at < self._lowest[self.index]:
            return self._knots[self.index]
        return None

    def select_beyond(self, start: float, knot: float) -> bool:
        """Take the piece beyond a knot at which the argument starts; False if it starts elsewhere.

        Only the way that the argument goes tells on which side of a knot it is.
        """
        return self.select(start, 1.0 if knot >= self._knots[self.index + 1] else -1.0)


def _rows(lookup: ca.Function) -> Floats:
    """(pieces, m), from the lowest piece to the highest."""
    found = [np.asarray(lookup(_LOWEST), dtype=np.float64).ravel()]
    for _ in range(_MOST_PIECES):
        end = found[-1][0] + 1.0 / found[-1][1]
        following = np.asarray(lookup(end + 1e-9 / found[-1][1]), dtype=np.float64).ravel()
        if following[0] == found[-1][0]:
            break
        found.append(following)
    return np.array(found)


def _slack(rows: Floats) -> Floats:
    """(knots,) how far from each knot the polynomials of either side are the same to `_SAME`.

    They touch with two derivatives, so they part with the third.
    """
    count = len(rows)
    tables = rows[:, 2:].reshape(count, -1, 6)
    size = np.abs(tables).max(axis=(0, 2))
    cubed = rows[:, 1, None] ** 3
    begin = 6.0 * tables[:, :, 3] * cubed
    end = (6.0 * tables[:, :, 3] + 24.0 * tables[:, :, 4] + 60.0 * tables[:, :, 5]) * cubed
    nothing = np.zeros((1, tables.shape[1]))
    jump = np.abs(np.vstack([begin, nothing]) - np.vstack([nothing, end]))
    part = (6.0 * _SAME * size / np.where(jump > 0.0, jump, 1e-300)).min(axis=1) ** (1.0 / 3.0)
    width = 1.0 / rows[:, 1]
    narrower = np.minimum(np.append(width, np.inf), np.append(np.inf, width))
    return np.asarray(np.clip(part, _NARROWEST * narrower, _WIDEST * narrower))


Curve = tuple[float, float, float, float]
"""Value, slope, second and third derivative at zero."""


def time_to_reach(curve: Curve, goal: float) -> float:
    """First time after zero at which a cubic is at a value, or inf where it turns back before."""
    value, slope, second, third = curve
    missing = goal - value
    if missing == 0.0:
        return 0.0
    if slope * missing <= 0.0:
        return inf
    root = max(slope * slope + 2.0 * second * missing, 0.0)
    time = 2.0 * missing / (slope + (sqrt(root) if slope > 0.0 else -sqrt(root)))
    for _ in range(_POLISHES):
        rate = slope + time * (second + 0.5 * time * third)
        if rate * missing <= 0.0:
            return inf
        here = time * (slope + time * (0.5 * second + time * third / 6.0))
        change = (missing - here) / rate
        time += change
        if abs(change) < _SHARP * abs(time):
            break
    return time if time > 0.0 else inf


class Cubic:
    """The curve through values and slopes at both ends of a step of some seconds.

    A slope that is not finite, as that of an angle where it is zero, stands for the straight line.
    """

    __slots__ = ("_second", "_third", "begin", "end", "end_slope", "length", "slope")

    def __init__(
        self, begin: float, slope: float, end: float, end_slope: float, length: float
    ) -> None:
        """Work out the derivatives at the beginning."""
        mean = (end - begin) / length
        if not (isfinite(slope) and isfinite(end_slope)):
            slope = end_slope = mean
        self.begin, self.slope, self.end, self.end_slope = begin, slope, end, end_slope
        self.length = length
        self._second = (6.0 * mean - 4.0 * slope - 2.0 * end_slope) / length
        self._third = 6.0 * (slope + end_slope - 2.0 * mean) / length**2

    def __call__(self, time: float) -> float:
        """Value at a time from its beginning."""
        bend = 0.5 * self._second + time * self._third / 6.0
        return self.begin + time * (self.slope + time * bend)

    def from_begin(self) -> Curve:
        """As `time_to_reach` takes it."""
        return self.begin, self.slope, self._second, self._third

    def from_end(self) -> Curve:
        """The same, going on beyond the end."""
        return self.end, self.end_slope, self._second + self.length * self._third, self._third

    def turning(self) -> float:
        """When it turns round between its ends, from its beginning; its end where it does not."""
        if self.slope * self.end_slope >= 0.0:
            return self.length
        root = sqrt(max(self._second**2 - 2.0 * self.slope * self._third, 0.0))
        return -2.0 * self.slope / (self._second - (root if self.slope > 0.0 else -root))

    def extreme(self) -> float:
        """Where it turns round between its ends the value there, else that at its end."""
        time = self.turning()
        return self(time) if time < self.length else self.end

    def greatest(self) -> float:
        """Greatest value, the ends included."""
        return max(self.begin, self.end, self.extreme())
