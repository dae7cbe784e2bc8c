"""A few equations in as many unknowns, by Newton's rule with Broyden's updates.

SciPy's `root` does the same but stops by the size of the step alone; here every evaluation is a
flight, and a miss of the orbit that is small enough ends the search one or two flights sooner.
Source: C. G. Broyden, A class of methods for solving nonlinear simultaneous equations, Math. Comp.
19 (1965), 577-593.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np

from ascentopt.typing import Floats

NUDGE = 1e-3
"""Of the sizes: large beside what the length of integration steps leaves to chance."""

_LONGEST = 10.0  # the longest step, in sizes of the unknowns
_MOST = 30
_SHORTENINGS = 5
_SHORTENINGS_BORROWED = 2  # where the slope may be what misleads
_STALLED = 0.9  # steps in a row that leave more than this of the miss end the search
_PATIENCE = 3
_SLOW = 0.3
"""A whole step that leaves more of the miss than this calls for a new Jacobian; a part of one, if
it takes off less than that part of what a whole one should."""

Miss = Callable[[Floats], Floats]


@dataclass(frozen=True, eq=False, kw_only=True)
class Root:
    """Where the search ended.

    Attributes:
        x: (count,) scaled unknowns.
        slope: (count, count) of the miss there, as good as the search needed it.
    """

    x: Floats
    slope: Floats


def solve_near(miss: Miss, count: int, close: Floats, slope: Floats | None = None) -> Root:
    """Scaled unknowns, from zero, where each |miss| is below `close`, or the best found.

    A `slope` of a similar miss, if given, saves working one out, unless it leads nowhere. What the
    callable raises is passed on. The caller checks what it gets.
    """
    x: Floats = np.zeros(count)
    found, stalled = miss(x), 0
    borrowed = slope is not None
    jacobian = _jacobian(miss, x, found) if slope is None else slope.copy()
    for _ in range(_MOST):
        if np.all(np.abs(found) < close) or stalled == _PATIENCE:
            break
        step, cut = _step(jacobian, found)
        halvings = _SHORTENINGS_BORROWED if borrowed else _SHORTENINGS
        ahead, shortened = _shortened(miss, x, found, step, close, halvings)
        taken = shortened * step
        change = ahead - found
        slow = _size(ahead, close) > (1.0 - (1.0 - _SLOW) * cut) * _size(found, close)
        if slow and _size(ahead, close) >= _size(found, close):
            if not borrowed:
                break
            jacobian, borrowed = _jacobian(miss, x, found), False
            continue
        still = _size(ahead, close) > _STALLED * _size(found, close)
        stalled = stalled + 1 if still else 0
        jacobian += np.outer(change - jacobian @ taken, taken) / float(taken @ taken)
        x, found = x + taken, ahead
        if slow and not np.all(np.abs(found) < close):
            jacobian, borrowed = _jacobian(miss, x, found), False
    return Root(x=x, slope=jacobian)


def _size(found: Floats, close: Floats) -> float:
    return float(np.linalg.norm(found / close))


def _jacobian(miss: Miss, x: Floats, found: Floats) -> Floats:
    columns = [(miss(x + nudge) - found) / NUDGE for nudge in NUDGE * np.eye(len(x))]
    return np.array(columns).T


def _step(jacobian: Floats, found: Floats) -> tuple[Floats, float]:
    """Newton's step, no component longer than `_LONGEST`, and what part of the whole it is.

    A singular direction is left alone.
    """
    step = -np.asarray(np.linalg.lstsq(jacobian, found, rcond=1e-10)[0], dtype=np.float64)
    part = min(1.0, _LONGEST / max(float(np.abs(step).max()), 1e-300))
    return step * part, part


def _shortened(
    miss: Miss, x: Floats, found: Floats, step: Floats, close: Floats, halvings: int
) -> tuple[Floats, float]:
    """Miss after the step, halved until it does not miss by more than before."""
    share = 1.0
    for _ in range(halvings):
        ahead = miss(x + share * step)
        if _size(ahead, close) < _size(found, close):
            break
        share *= 0.5
    else:
        share *= 2.0
    return ahead, share
