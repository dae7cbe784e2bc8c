"""Tables that a Newton iteration can walk on: twice continuously differentiable, finite anywhere.

Between knots the curve is the quintic that has the given value, slope and curvature at both ends;
outside the knots it runs on along the end slopes. The same table takes floats, NumPy arrays and
CasADi scalars, symbolic ones too.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import cached_property, lru_cache
from hashlib import sha256

import casadi as ca
import numpy as np

from ascentopt.errors import InputError
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats, Value
from ascentopt.validation import increasing, numbers, same_length
from ascentopt.world.monotone import monotone_slopes

# Sum of the end slopes up to which a quintic with bent ends removed is monotone: see _limited.
_SLOPE_LIMIT = 1.25

_NOTHING = 1e-300  # per unit of x: see _picker


@dataclass(frozen=True, kw_only=True)
class SmoothTable:
    """A C2 curve through knots.

    `knots` (increasing, in the units of x), `values`, `slopes` (per x), `curvatures` (per x^2; zero
    at the two ends so that the linear continuation is C2 too) have one number for each knot. One
    knot alone is a straight line. Raises `InputError` for anything else.
    """

    knots: tuple[float, ...]
    values: tuple[float, ...]
    slopes: tuple[float, ...]
    curvatures: tuple[float, ...]

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        for name in ("knots", "values", "slopes", "curvatures"):
            column = numbers("SmoothTable", name, getattr(self, name), "", "Give finite numbers.")
            object.__setattr__(self, name, column)
        columns = {
            name: getattr(self, name) for name in ("knots", "values", "slopes", "curvatures")
        }
        same_length("SmoothTable", columns, "Give one value for each knot.")
        if not self.knots:
            raise InputError("SmoothTable: knots is empty; it must hold a number. Give a knot.")
        increasing("SmoothTable", "knots", self.knots, "", "Sort the knots and drop doubles.")
        if self.curvatures[0] != 0.0 or self.curvatures[-1] != 0.0:
            raise InputError(
                f"SmoothTable: curvatures end in {self.curvatures[0]!r} and "
                f"{self.curvatures[-1]!r}; both must be 0.0. Set them so: the curve goes on "
                "straight outside its knots."
            )

    @classmethod
    def through(cls, *, x: Iterable[float], y: Iterable[float]) -> SmoothTable:
        """Return a curve through the points that runs on straight beyond the ends.

        It is monotone wherever the data are, so it never leaves the range of neighbouring points.
        Slopes: F. N. Fritsch and J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304.
        """
        knots, values = _points(x, y)
        with np.errstate(all="ignore"):  # what overflows is no number, and refused below
            return cls._shaped(knots, values, monotone_slopes(knots, values))

    @classmethod
    def held(cls, *, x: Iterable[float], y: Iterable[float]) -> SmoothTable:
        """Return a curve as `through` does, but constant beyond the ends (and level at them)."""
        knots, values = _points(x, y)
        with np.errstate(all="ignore"):
            slopes = monotone_slopes(knots, values)
            slopes[0] = slopes[-1] = 0.0
            return cls._shaped(knots, values, slopes)

    @classmethod
    def _shaped(cls, knots: Floats, values: Floats, slopes: Floats) -> SmoothTable:
        slopes, curvatures = _limited(knots, values, slopes)
        return cls(
            knots=tuple(knots), values=tuple(values),
            slopes=tuple(slopes), curvatures=tuple(curvatures),
        )  # fmt: skip

    @cached_property
    def pieces(self) -> Floats:
        """Coefficients (n - 1, 8) of the quintics between n knots.

        A row holds the left end x0, the reciprocal width, and c0..c5 of the polynomial in the
        local coordinate t = (x - x0) / width.
        """
        x, y, m, k = self._arrays()
        h, rise = np.diff(x), np.diff(y)
        m0, m1 = m[:-1] * h, m[1:] * h
        k0, k1 = k[:-1] * h**2, k[1:] * h**2
        c3 = 10 * rise - 6 * m0 - 4 * m1 - 1.5 * k0 + 0.5 * k1
        c4 = -15 * rise + 8 * m0 + 7 * m1 + 1.5 * k0 - k1
        c5 = 6 * rise - 3 * (m0 + m1) - 0.5 * (k0 - k1)
        return np.column_stack((x[:-1], 1 / h, y[:-1], m0, k0 / 2, c3, c4, c5))

    def __call__(self, x: Value) -> Value:
        """Return the curve at `x`: a float, an array of any shape, or a CasADi scalar."""
        return evaluate(x, (self,))[0]

    def integral(self) -> float:
        """Return the exact integral from the first to the last knot."""
        x, y, m, k = self._arrays()
        h = np.diff(x)
        pieces = (y[:-1] + y[1:]) / 2 + h * (m[:-1] - m[1:]) / 10 + h**2 * (k[:-1] + k[1:]) / 120
        return float(h @ pieces)

    def _arrays(self) -> tuple[Floats, Floats, Floats, Floats]:
        columns = (self.knots, self.values, self.slopes, self.curvatures)
        x, y, m, k = (np.asarray(column) for column in columns)
        return x, y, m, k


def with_slopes(table: SmoothTable, x: Floats) -> Floats:
    """(3, n) value, slope and curvature of a table at `x` (n)."""
    knots, pieces = np.asarray(table.knots), table.pieces
    if not len(pieces):
        line = table.values[0] + table.slopes[0] * (x - knots[0])
        return np.stack((line, np.full(len(x), table.slopes[0]), np.zeros(len(x))))
    place = np.clip(np.searchsorted(knots, x, side="right") - 1, 0, len(pieces) - 1)
    start, rate, *c = pieces[place].T
    t = (x - start) * rate
    value = c[0] + t * (c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))))
    slope = c[1] + t * (2 * c[2] + t * (3 * c[3] + t * (4 * c[4] + t * 5 * c[5])))
    bend = 2 * c[2] + t * (6 * c[3] + t * (12 * c[4] + t * 20 * c[5]))
    found = np.stack((value, slope * rate, bend * rate**2))
    for side, beyond in ((0, x < knots[0]), (-1, x > knots[-1])):
        straight = table.values[side] + table.slopes[side] * (x - knots[side])
        line = np.stack((straight, np.full(len(x), table.slopes[side]), np.zeros(len(x))))
        found = np.where(beyond, line, found)
    return np.asarray(found)


def is_symbolic(x: Value) -> bool:
    """Return whether `x` is a CasADi value (DM counts), as against a number or an array."""
    return isinstance(x, ca.SX | ca.MX | ca.DM)


def lower_of(x: Value, bound: Value) -> Value:
    """Return the lesser of two, for numbers, arrays and symbols; a number NaN stays NaN."""
    return ca.fmin(x, bound) if is_symbolic(x) else np.minimum(x, bound)


def higher_of(x: Value, bound: Value) -> Value:
    """Return the greater of two, for numbers, arrays and symbols; a number NaN stays NaN."""
    return ca.fmax(x, bound) if is_symbolic(x) else np.maximum(x, bound)


def evaluate(x: Value, tables: Sequence[SmoothTable]) -> list[Value]:
    """Return the values at `x` of tables that have the same knots, with one search for all.

    Beyond the ends x is clamped for the polynomials, and the rest of the way is gone straight:
    a polynomial far outside its piece would blow up the rounding errors of its coefficients.
    """
    knots = tables[0].knots
    if len(knots) == 1:
        return [_plain(x, t.values[0] + t.slopes[0] * (x - knots[0])) for t in tables]
    below, above = lower_of(x - knots[0], 0.0), higher_of(x - knots[-1], 0.0)
    # Written so that the slope is right even exactly on an end knot, where CasADi takes half the
    # derivative of each branch: the halves of the polynomial and of the straight part add up.
    inside = x - below - above if is_symbolic(x) else np.clip(x, knots[0], knots[-1])
    stacked = np.hstack([tables[0].pieces, *(t.pieces[:, 2:] for t in tables[1:])])
    origin, reciprocal, *coefficients = _selected(x, knots[1:-1], stacked)
    local = (inside - origin) * reciprocal
    found = []
    for i, table in enumerate(tables):
        curve = _horner(local, coefficients[6 * i : 6 * i + 6])
        straight = _straight(table.slopes[0], below) + _straight(table.slopes[-1], above)
        found.append(_plain(x, curve + straight))
    return found


def _straight(slope: float, way: Value) -> Value:
    """What a level end adds is nothing, however far away: zero times infinity is no number."""
    return slope * way if slope or is_symbolic(way) else 0.0


def _selected(x: Value, borders: Sequence[float], rows: Floats) -> list[Value]:
    """Return the row of `rows` (n + 1, m) for the interval between n `borders` that holds `x`.

    For symbols it is the call of a function that searches the borders when it is evaluated; a
    table with one piece is called as well, so that whoever steps along it learns of its ends.
    """
    if not is_symbolic(x):
        row = rows[np.searchsorted(np.asarray(borders), x, side="right")]
        return [row[..., j] for j in range(rows.shape[1])]
    picked = _picker(tuple(borders), rows.tobytes())(x)
    return [picked[j] for j in range(rows.shape[1])]


@lru_cache(maxsize=256)
def _picker(borders: tuple[float, ...], rows: bytes) -> ca.Function:
    """Make x -> the row (m) for the interval that holds x.

    CasADi differentiates a call by one of the derivative's function, and reads past the end of its
    results when these are nothing but structural zeros. The term that no digit of a row feels
    gives the call a dense derivative, of next to nothing.
    """
    table = ca.MX(ca.DM(np.frombuffer(rows).reshape(len(borders) + 1, -1).T))
    x = ca.MX.sym("x")
    index = ca.low(ca.DM([-np.inf, *borders, np.inf]), x, {"lookup_mode": "binary"})
    name = f"row_{sha256(repr(borders).encode() + rows).hexdigest()[:16]}"
    return ca.Function(name, [x], [table[:, index] + _NOTHING * x], {"never_inline": True})


def _horner(x: Value, coefficients: Sequence[Value]) -> Value:
    total = coefficients[-1]
    for coefficient in reversed(coefficients[:-1]):
        total = total * x + coefficient
    return total


def _plain(x: Value, y: Value) -> Value:
    """Return `y` as a plain float where `x` is a plain number."""
    return y if is_symbolic(x) or np.ndim(y) else float(y)


def _points(x: Iterable[float], y: Iterable[float]) -> tuple[Floats, Floats]:
    fix = "Give the points of the curve as two lists of finite numbers."
    columns = {"x": numbers("SmoothTable", "x", x, "", fix)}
    columns["y"] = numbers("SmoothTable", "y", y, "", fix)
    same_length("SmoothTable", columns, "Give one y for each x.")
    if len(columns["x"]) < 2:
        raise InputError(
            f"SmoothTable: x has {len(columns['x'])} values; it must have at least 2. "
            "Give two points or more."
        )
    increasing("SmoothTable", "x", columns["x"], "", "Sort the points by x and drop doubles.")
    return np.array(columns["x"]), np.array(columns["y"])


def _limited(x: Floats, y: Floats, slopes: Floats) -> tuple[Floats, Floats]:
    """Return slopes and curvatures with which each quintic is monotone between its points.

    The derivative of the quintic on an interval of width h and mean slope D has the Bernstein
    coefficients m0, m0 + h k0/4, b, m1 - h k1/4, m1 with b = 5 D - 2 (m0 + m1) - h (k0 - k1)/4.
    Where none of them has the sign opposite to D the curve is monotone. Slopes up to 1.25 D give
    b >= 0 without curvature; the curvatures (means of the one-sided ones of the cubics) are then
    scaled down as far as their intervals ask.
    """
    h, mean = np.diff(x), np.diff(y) / np.diff(x)
    steepest = _SLOPE_LIMIT * np.abs(mean)
    bound = np.minimum(np.append(steepest, np.inf), np.append(np.inf, steepest))
    slopes = np.clip(slopes, -bound, bound)
    left, right = slopes[:-1], slopes[1:]
    curvatures = np.zeros_like(x)
    curvatures[1:-1] = 0.5 * (
        ((2 * left + 4 * right - 6 * mean) / h)[:-1] + ((6 * mean - 4 * left - 2 * right) / h)[1:]
    )
    scale = _curvature_scale(h, mean, slopes, curvatures)
    share = np.minimum(np.append(scale, 1.0), np.append(1.0, scale))
    return slopes, share * curvatures


def _curvature_scale(h: Floats, mean: Floats, slopes: Floats, curvatures: Floats) -> Floats:
    """Return, for each interval, the factor (0 to 1) on the curvatures that keeps it monotone."""
    sign = np.sign(mean)
    m0, m1 = np.abs(slopes[:-1]), np.abs(slopes[1:])
    k0, k1 = sign * curvatures[:-1] * h / 4, sign * curvatures[1:] * h / 4
    bend = np.maximum(k0, 0.0) + np.maximum(-k1, 0.0)
    room = np.maximum(5 * np.abs(mean) - 2 * (m0 + m1), 0.0)
    ratios = [_ratio(m0, -k0), _ratio(m1, k1), _ratio(room, bend)]
    return np.where(sign == 0.0, 0.0, np.minimum.reduce(ratios))


def _ratio(room: Floats, wanted: Floats) -> Floats:
    asked = np.where(wanted > 0.0, wanted, 1.0)
    return np.where(wanted > 0.0, np.minimum(1.0, room / asked), 1.0)
