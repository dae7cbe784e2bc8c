"""Designs to begin with: the described one, and roomier ones where that does not fly."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import FreePropellant, FreeThrust
from ascentopt.typing import Floats

ROOM = ((0.0, 0.0), (0.25, 0.25), (0.5, 0.5), (1.0, 1.0), (0.0, 1.0), (0.5, 1.0))
"""Shares of the way to the upper bounds, of propellants and of thrusts."""


def first_designs(design: DesignSpace) -> Iterator[Floats]:
    """(n,) values to begin with, in turn, until one flies.

    A payload that is sought stands as described in the first, and is left at home in the others.
    All are within the budget.
    """
    start = design.start()
    for count, (propellant, thrust) in enumerate(ROOM):
        values = start.copy()
        for k, one in enumerate(design.free):
            share = thrust if isinstance(one, FreeThrust) else propellant
            if isinstance(one, FreePropellant | FreeThrust):
                values[k] += share * (one.most - values[k])
        if design.seeks_payload and count:
            values[-1] = 0.0
        yield within_budget(design, values)


def within_budget(design: DesignSpace, values: Floats) -> Floats:
    """The same, moved towards the least values until the budget bears it."""
    if design.budget is None:
        return values
    lowest = design.cost_of(design.vehicle_at(design.lower))
    beyond = design.cost_of(design.vehicle_at(values)) - lowest
    share = min(1.0, (design.budget.most - lowest) / beyond) if beyond > 0.0 else 1.0
    return np.asarray(design.lower + share * (values - design.lower))
