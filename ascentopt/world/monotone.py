"""Slopes at points through which a cubic stays monotone: no overshoot between them."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

Floats = npt.NDArray[np.float64]


def monotone_slopes(x: Floats, y: Floats) -> Floats:
    """Return the slope at each of two or more points, zero where the curve turns.

    Within, the weighted harmonic mean of the mean slopes on either side: F. N. Fritsch and
    J. Butland, SIAM J. Sci. Stat. Comput. 5 (1984) 300-304. At the ends the parabola through three
    points, kept in shape: C. Moler, *Numerical Computing with MATLAB*, SIAM 2004, sec. 3.4 and its
    ``pchiptx``.
    """
    h, mean = np.diff(x), np.diff(y) / np.diff(x)
    if len(mean) == 1:
        return np.repeat(mean, 2)
    left, right = mean[:-1], mean[1:]
    near, far = 2.0 * h[1:] + h[:-1], h[1:] + 2.0 * h[:-1]
    monotone = left * right > 0.0
    whole = np.where(monotone, near * right + far * left, 1.0)
    within = np.where(monotone, (near + far) * left * right / whole, 0.0)
    first = _at_end(h[0], h[1], mean[0], mean[1])
    last = _at_end(h[-1], h[-2], mean[-1], mean[-2])
    return np.concatenate(([first], within, [last]))


def _at_end(h: float, next_h: float, mean: float, next_mean: float) -> float:
    slope = ((2.0 * h + next_h) * mean - h * next_mean) / (h + next_h)
    if slope * mean <= 0.0:
        return 0.0
    if mean * next_mean <= 0.0 and abs(slope) > 3.0 * abs(mean):
        return 3.0 * mean
    return float(slope)
