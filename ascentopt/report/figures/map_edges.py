"""Edges of the orbits of a map: between its cells, without their stairs."""

from __future__ import annotations

import numpy as np

from ascentopt.typing import Floats

_CLEAR = 0.95
"""Of the way to the next cell, which has no orbit, that an edge may reach."""

_HELD = 1e-3
"""How little an edge is drawn to the middle between its cells, beside its bends."""


def smoothest_edge(x: Floats, y: Floats, last: np.ndarray) -> Floats:
    """(rows,) places between the last cell with an orbit, index `last`, and the next of `x`.

    Of all edges that part these cells the one with the least bends, by linear least squares within
    bounds. At the map's own end the edge is there.
    """
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.optimize import lsq_linear

    low = x[last]
    following = x[np.minimum(last + 1, len(x) - 1)]
    high = low + _CLEAR * (following - low)
    free = high > low
    if len(low) < 3 or not np.any(free):
        return np.asarray(low)
    bends = _bends((y - y[0]) / (y[-1] - y[0]) * (len(y) - 1))
    held = _HELD * np.eye(len(low))
    size = float(np.max(high - low))
    target = np.concatenate([-bends @ low / size, _HELD * 0.5 * (high - low) / size])
    upper = np.where(free, (high - low) / size, 1e-12)
    found = lsq_linear(np.vstack([bends, held]), target, (np.zeros(len(low)), upper))
    return np.asarray(low + size * np.where(free, found.x, 0.0))


def _bends(y: Floats) -> Floats:
    """(k - 2, k) second divided differences over k places."""
    rows = np.zeros((len(y) - 2, len(y)))
    for k in range(len(y) - 2):
        before, after = y[k + 1] - y[k], y[k + 2] - y[k + 1]
        rows[k, k : k + 3] = 1.0 / before, -1.0 / before - 1.0 / after, 1.0 / after
    return rows
