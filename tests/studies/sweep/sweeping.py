"""Sweeps of an invented lander, which is quick, by itself or as a process that may be killed."""

from __future__ import annotations

import sys
from collections.abc import Mapping, Sequence
from functools import cache
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import km
from tests.optimal.launchers import lander, moon_mission

SMALL: Mapping[str, Sequence[object]] = {
    "payload_mass": [900.0, 1000.0, 6000.0],
    "orbit.altitude": [100 * km, 110 * km],
}
"""Flies but for the heaviest."""


def grid(payloads: int, altitudes: int) -> dict[str, Any]:
    """Payloads by altitudes, the heaviest of which do not fly."""
    return {
        "payload_mass": [float(x) for x in np.linspace(800.0, 5200.0, payloads)],
        "orbit.altitude": [float(x) for x in np.linspace(90 * km, 150 * km, altitudes)],
    }


@cache
def small() -> ao.Sweep:
    """Solved once."""
    return swept(SMALL)


def swept(over: Any, **more: Any) -> ao.Sweep:
    """The lander over it."""
    return ao.sweep(lander(), moon_mission(), over, **more)


def largest_difference(one: ao.Sweep, other: ao.Sweep) -> float:
    """Of all numbers of two tables, as a share; infinite where they differ in words or holes."""
    left, right = one.to_table(), other.to_table()
    if left.headers != right.headers or len(left) != len(right):
        return np.inf
    worst = 0.0
    for row, twin in zip(left.rows, right.rows, strict=True):
        for cell, same in zip(row, twin, strict=True):
            if isinstance(cell, float) and isinstance(same, float):
                worst = max(worst, abs(cell - same) / max(abs(cell), 1.0))
            elif cell != same and not _both_tell_numbers(cell, same):
                return np.inf
    return worst


def _both_tell_numbers(one: object, other: object) -> bool:
    """Reasons hold numbers to their last digit, which two processes may round otherwise."""
    return isinstance(one, str) and isinstance(other, str) and one[:60] == other[:60]


if __name__ == "__main__":
    folder, payloads, altitudes = Path(sys.argv[1]), int(sys.argv[2]), int(sys.argv[3])
    swept(grid(payloads, altitudes), store=folder)
