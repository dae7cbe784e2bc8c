"""The Radau IIA collocation scheme on the unit interval."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property, lru_cache

import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

TOUCHING = 1e-200  # a smaller gap to a support point would overflow when it is divided by


@dataclass(frozen=True, eq=False)
class RadauScheme:
    """Collocation at the ``d`` flipped Legendre-Gauss-Radau points of (0, 1]; the right end is one.

    A state is a polynomial of degree ``d`` through the interval's start and the ``d`` points, a
    control one of degree ``d - 1`` through the points alone. End values are of order ``2 d - 1``.

    Attributes:
        points: (d,) collocation points, increasing, the last is 1.
        derivative: (d, d + 1) derivative at the points from the values at ``[0, *points]``.
        weights: (d,) quadrature weights, exact for polynomials of degree ``2 d - 2``.

    Source: E. Hairer, G. Wanner, *Solving Ordinary Differential Equations II*, 2nd ed., IV.5.
    """

    points: Array
    derivative: Array
    weights: Array

    @cached_property
    def support(self) -> Array:
        """(d + 1,) points that carry a state: the interval's start and the collocation points."""
        return np.concatenate(([0.0], self.points))

    def states_at(self, local: Array) -> Array:
        """(m, d + 1) matrix that turns a state's values into those at places of the interval."""
        return interpolation_matrix(self.support, self._support_weights, local)

    def controls_at(self, local: Array) -> Array:
        """(m, d) matrix that turns a control's values into those at places of the interval."""
        return interpolation_matrix(self.points, self._point_weights, local)

    def slopes_at(self, local: Array) -> Array:
        """(m, d + 1) matrix that turns a state's values into slopes at places of the interval."""
        return np.asarray(self.controls_at(local) @ self.derivative)

    @cached_property
    def _support_weights(self) -> Array:
        return barycentric_weights(self.support)

    @cached_property
    def _point_weights(self) -> Array:
        return barycentric_weights(self.points)


@lru_cache(maxsize=32)
def radau(degree: int) -> RadauScheme:
    """Return the scheme with ``degree`` collocation points (at least 1)."""
    points = _radau_points(degree)
    support = np.concatenate(([0.0], points))
    derivative = derivative_matrix(support)[1:, :]
    return RadauScheme(points, derivative, _weights(points))


def _radau_points(degree: int) -> Array:
    """Roots of P_d(x) - P_{d-1}(x), mapped from [-1, 1] to [0, 1]; x = 1 is always a root."""
    from numpy.polynomial import legendre

    series = np.zeros(degree + 1)
    series[degree], series[degree - 1] = 1.0, -1.0
    roots = np.sort(legendre.legroots(series).real)
    roots[-1] = 1.0
    slope = legendre.legder(series)
    for _ in range(2):  # Newton steps bring the eigenvalue roots to the last digit
        roots[:-1] -= legendre.legval(roots[:-1], series) / legendre.legval(roots[:-1], slope)
    return np.asarray((roots + 1.0) / 2.0)


def _weights(points: Array) -> Array:
    """Quadrature weights (1 + x_i) / (d P_{d-1}(x_i))^2 of the points mapped to [-1, 1], halved.

    A closed form, because the moment equations lose all digits before degree 30.
    Source: M. Abramowitz, I. A. Stegun, *Handbook of Mathematical Functions*, 25.4.31, mirrored.
    """
    from numpy.polynomial import legendre

    degree = len(points)
    previous = legendre.legval(2.0 * points - 1.0, [*np.zeros(degree - 1), 1.0])
    return np.asarray(points / (degree * previous) ** 2)


def barycentric_weights(points: Array) -> Array:
    """(n,) weights of the barycentric form of Lagrange interpolation through ``points``."""
    gaps = points[:, None] - points[None, :]
    np.fill_diagonal(gaps, 1.0)
    return np.asarray(1.0 / gaps.prod(axis=1))


def derivative_matrix(points: Array) -> Array:
    """(n, n) matrix that turns values at ``points`` into the interpolant's slope there.

    Source: J.-P. Berrut, L. N. Trefethen, SIAM Review 46 (2004), eq. 9.4-9.5.
    """
    weights = barycentric_weights(points)
    gaps = points[:, None] - points[None, :]
    np.fill_diagonal(gaps, 1.0)
    matrix = weights[None, :] / weights[:, None] / gaps
    np.fill_diagonal(matrix, 0.0)
    np.fill_diagonal(matrix, -matrix.sum(axis=1))
    return np.asarray(matrix)


def interpolation_matrix(points: Array, weights: Array, at: Array) -> Array:
    """(m, n) matrix that turns values at ``points`` into values of the interpolant at ``at``.

    With the barycentric ``weights`` (n,) of the points.
    """
    gaps = at[:, None] - points[None, :]
    matrix = (np.abs(gaps) < TOUCHING).astype(float)
    between = ~matrix.any(axis=1)
    terms = weights[None, :] / gaps[between]
    matrix[between] = terms / terms.sum(axis=1, keepdims=True)
    return np.asarray(matrix)
