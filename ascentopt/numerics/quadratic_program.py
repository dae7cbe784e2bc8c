"""Small dense convex quadratic programs, by a primal-dual interior-point method.

Predictor and corrector after S. Mehrotra, SIAM J. Optim. 2 (1992), 575-601, as in J. Nocedal and
S. J. Wright, Numerical Optimization, 2nd ed., 2006, algorithm 16.4 (from memory). It is arrays
only: a program of twenty variables takes a millisecond or two, and an interrupt is heard.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.typing import Floats

_MOST = 60
_CLOSE = 1e-9  # of the sizes of the program
_NEAR, _LOST = 1e-5, 10.0  # near the end, times the best so far: rounding only takes away
_SHORT_OF_EDGE = 0.995


@dataclass(frozen=True, eq=False, kw_only=True)
class QuadraticProgram:
    """Minimise x h x / 2 + g x where a x >= b.

    Attributes:
        h: (n, n), positive definite.
        g: (n,).
        a: (m, n).
        b: (m,); minus infinity asks for nothing.
    """

    h: Floats
    g: Floats
    a: Floats
    b: Floats

    def solved(self) -> tuple[Floats, Floats]:
        """Where it is least (n,), and the price (m,) of each row, which is not negative."""
        asked = np.isfinite(self.b)
        prices = np.zeros(len(self.b))
        inner = _Interior(self.h, self.g, self.a[asked], self.b[asked])
        x, prices[asked] = inner.solved()
        return x, prices


class _Interior:
    """Newton's method on the conditions of the least, the products of room and price held back."""

    def __init__(self, h: Floats, g: Floats, a: Floats, b: Floats) -> None:
        # Rows of like size: then one measure of rooms and one of prices serves all.
        self.norms = np.maximum(np.linalg.norm(a, axis=1), 1e-12)
        self.h, self.g, self.a, self.b = h, g, a / self.norms[:, None], b / self.norms

    def solved(self) -> tuple[Floats, Floats]:
        x: Floats = np.zeros(len(self.g))
        found: tuple[Floats, Floats]
        if not len(self.b):
            return np.asarray(np.linalg.solve(self.h, -self.g)), np.zeros(0)
        room = np.maximum(np.abs(self.a @ x - self.b), 1.0)
        price = np.full(len(self.b), max(1.0, float(np.abs(self.g).max())))
        sizes = 1.0 + float(np.abs(self.g).max()), 1.0 + float(np.abs(self.b).max())
        best, found = np.inf, (x, price)
        for _ in range(_MOST):
            slope = self.h @ x + self.g - self.a.T @ price
            gap = self.a @ x - room - self.b
            mean = float(room @ price) / len(room)
            off = max(np.abs(slope).max() / sizes[0], np.abs(gap).max() / sizes[1], mean / sizes[0])
            if off < best:
                best, found = float(off), (x, price)
            if best < _CLOSE or (best < _NEAR and off > _LOST * best):
                break
            try:
                x, room, price = self._stepped((x, room, price), slope, gap, mean)
            except np.linalg.LinAlgError:
                break
        return found[0], found[1] / self.norms

    def _stepped(
        self, at: tuple[Floats, Floats, Floats], slope: Floats, gap: Floats, mean: float
    ) -> tuple[Floats, Floats, Floats]:
        """A step towards the least and, by the same factors, one that corrects its bend."""
        x, room, price = at
        pull = price / room
        matrix = self.h + self.a.T @ (pull[:, None] * self.a)
        # Scaled to a diagonal of ones: towards the end some rows pull a billion times harder.
        scale = 1.0 / np.sqrt(np.diag(matrix))
        factors = np.linalg.inv(scale[:, None] * matrix * scale)

        def step(products: Floats) -> tuple[Floats, Floats, Floats]:
            right = -slope - self.a.T @ ((products + price * gap) / room)
            moved = scale * (factors @ (scale * right))
            wider = self.a @ moved + gap
            return moved, wider, -(products + price * wider) / room

        _, wider, dearer = step(room * price)
        part = min(_part(room, wider), _part(price, dearer))
        ahead = float((room + part * wider) @ (price + part * dearer)) / len(room)
        held = mean * (ahead / mean) ** 3
        moved, wider, dearer = step(room * price + wider * dearer - held)
        part = _SHORT_OF_EDGE * min(_part(room, wider), _part(price, dearer))
        return x + part * moved, room + part * wider, price + part * dearer


def _part(values: Floats, change: Floats) -> float:
    """How much of a change, all of it at most, leaves the values positive."""
    falling = change < 0.0
    return float(min(1.0, np.min(-values[falling] / change[falling], initial=np.inf)))
