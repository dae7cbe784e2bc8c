"""The first look at a rule: its tipping number from flat to steep, and what lies on either side."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise
from math import inf

import numpy as np

from ascentopt.flight.compiled.failures import ArcNotEnded, FellToGround
from ascentopt.rules.insertion.refusals import NoTimeToCoast, TooFlat, TooHigh
from ascentopt.rules.tune.evaluations import Evaluations

_SCAN = 13
"""Values of the tipping number that are tried first, evenly on its scale."""

_RISES = 2
"""Flights in a row, ever steeper and each worse than the one before, after which a scan ends."""

_TOO_HIGH = 2
"""Flights in a row that climb too high, after which it ends: steeper ones climb even higher."""

_HALVINGS = 16
"""Halvings between a flight that is too steep and one that is too flat, until one fits between."""


def scan(search: Evaluations, others: tuple[float, ...]) -> str:
    """Try the tipping number over its range, and within the gap between too steep and too flat.

    From flat to steep until the cost has risen, or flights have climbed too high, some times in a
    row: flights that are ever steeper are dear to close. More of the number should lead to a
    flatter flight; where its greatest values climb too high, they are tried from the other end.
    Returns what lies on either side where none fits.
    """
    ends = float(search.scale.high[-1]), float(search.scale.low[-1])
    why, began_too_high = _scanned(search, others, ends)
    if began_too_high:
        why, _ = _scanned(search, others, (ends[1], ends[0]))
    return why


def _scanned(
    search: Evaluations, others: tuple[float, ...], ends: tuple[float, float]
) -> tuple[str, bool]:
    """From the one end to the other; also whether it climbed too high from the beginning."""
    known, costs, too_high = len(search.flown), [inf], 0
    flat = _Side(at=ends[0], why="")
    steep = bottom = _Side(at=ends[1], why="nothing is tried")
    for k, at in enumerate(np.linspace(*ends, _SCAN).tolist(), 1):
        side = _side(search, (*others, at))
        if side is None:
            costs.append(search.last)
        elif not side.flat:
            steep = side if steep is bottom else steep
        elif steep is bottom:
            flat = side
        too_high = too_high + 1 if side is not None and side.high else 0
        if too_high == _TOO_HIGH:
            if k == _TOO_HIGH:
                return steep.why, True
            break
        if len(costs) > _RISES and all(a < b for a, b in pairwise(costs[-_RISES - 1 :])):
            break
    if len(search.flown) == known:
        steep, flat = _halved(search, others, (steep, flat))
    return f"too steep: {steep.why}; a little more: {flat.why}" if flat.why else steep.why, False


def _halved(
    search: Evaluations, others: tuple[float, ...], sides: tuple[_Side, _Side]
) -> tuple[_Side, _Side]:
    """Halve the gap between too steep and too flat until a flight fits, or plainly none will.

    Where a flatter flight has even less of the time to coast that it needs none fits: none has
    any left where it begins to sink before it can be cut off.
    """
    (steep, flat), known = sides, len(search.flown)
    for _ in range(_HALVINGS):
        side = _side(search, (*others, 0.5 * (steep.at + flat.at)))
        if len(search.flown) > known:
            break
        if side is None:
            continue
        if side.flat:
            flat = side
            continue
        ever_less, steep = 0.0 < side.share < steep.share, side
        if ever_less:
            break
    return steep, flat


@dataclass(frozen=True, kw_only=True)
class _Side:
    """On which side of an orbit a flight without one went: place of its number, and why."""

    at: float
    why: str
    flat: bool = False
    high: bool = False
    share: float = 0.0  # of the time to coast that it would take, where that is what lacks


def _side(search: Evaluations, place: tuple[float, ...]) -> _Side | None:
    """None for a flight into the orbit, or one out of bounds."""
    count = len(search.failures)
    search(place)
    if len(search.failures) == count:
        return None
    failure = search.failures[-1]
    return _Side(
        at=place[-1],
        why=str(failure),
        flat=isinstance(failure, FellToGround | TooFlat | ArcNotEnded),
        high=isinstance(failure, TooHigh) and not isinstance(failure, NoTimeToCoast),
        share=failure.share if isinstance(failure, NoTimeToCoast) else 0.0,
    )
