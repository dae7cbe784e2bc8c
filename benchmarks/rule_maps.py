"""Time of maps of 40 by 40 flights: ``python -m benchmarks.rule_maps``.

Processor time of one process; rows are flown side by side by an executor, so that two cores take
half of it.
"""

from __future__ import annotations

from time import process_time

import numpy as np

import ascentopt as ao
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.laws.rule import Rule
from ascentopt.typing import Floats
from ascentopt.units import deg, km
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.studies.wren import MISSION, VEHICLE

CELLS = 40


def main() -> None:
    """Print one line for each map."""
    tangent, circle = ao.LinearTangentInsertion(), ao.Circularise()
    heights, leans = values(4 * km, 20 * km), values(10 * deg, 60 * deg)
    launcher = ao.optimize(TURNSTONE, PELICAN_POINT)
    speeds = values(30.0, 120.0)
    report(launcher, ao.KickRule(), tangent, (values(1 * deg, 7 * deg), speeds))
    report(launcher, ao.AnyAltitudeRule(), tangent, (leans, heights))
    small = ao.optimize(VEHICLE, MISSION)
    report(small, ao.KickRule(), circle, (values(4 * deg, 16 * deg), speeds))
    report(small, ao.AnyAltitudeRule(), circle, (leans, heights))


def values(first: float, last: float) -> Floats:
    """(CELLS,) from the first to the last."""
    return np.linspace(first, last, CELLS)


def report(
    ascent: ao.Ascent, rule: Rule, insertion: Insertion, sides: tuple[Floats, Floats]
) -> None:
    """Seconds, orbits and the best of one map."""
    began = process_time()
    across, upward = (side.tolist() for side in sides)
    found = ao.cost_map(ascent, rule, insertion, across=across, upward=upward)
    took = process_time() - began
    orbits = int(np.isfinite(found.penalty).sum())
    name = f"{ascent.vehicle.name}, {found.rule}"
    print(f"{name:62}{took:7.1f} s{orbits:6} orbits{found.best[2]:9.1f} kg at best")


if __name__ == "__main__":
    main()
