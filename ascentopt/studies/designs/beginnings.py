"""Other designs to begin with, once a search has settled with numbers at their bounds.

A number that ends at a bound is held there, or was led there by the slopes of a flight that makes
next to no use of it: a stage that has shrunk away tells nothing of its worth when it is large.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np

from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.first_designs import within_budget
from ascentopt.studies.designs.free import (
    AT_BOUND,
    FreeNumber,
    FreePropellant,
    FreeStageNumber,
    FreeThrust,
    place_of,
)
from ascentopt.typing import Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Beginning:
    """A design to begin with.

    Attributes:
        moved: quantities that were at a bound and are not any more.
        values: (n,) of the unknowns.
    """

    moved: tuple[str, ...]
    values: Floats

    def __str__(self) -> str:
        return f"with {' and '.join(self.moved)} from the middle of the bounds"


def other_beginnings(design: DesignSpace, values: Floats) -> Iterator[Beginning]:
    """With the numbers that are at a bound in the middle; none where no bound holds any.

    All of them at once, then those of stages alone that hold as little as they may. The rest stays,
    thrusts grow with what they lift, and all is lowered until the budget bears it.

    Args:
        design: the vehicles.
        values: (n,) where a search has settled.
    """
    held = held_numbers(design, values)
    if held:
        yield _moved(design, values, held)
    shrunk = _shrunk(held, design, values)
    if shrunk and len(shrunk) < len(held):
        yield _moved(design, values, shrunk)


def _shrunk(held: list[FreeNumber], design: DesignSpace, values: Floats) -> list[FreeNumber]:
    """Those of stages whose propellant is at its least."""
    vehicle = design.vehicle_at(values)
    stages = {
        one.stage
        for one in held
        if isinstance(one, FreePropellant) and 2.0 * one.value_in(vehicle) < one.least + one.most
    }
    return [one for one in held if isinstance(one, FreeStageNumber) and one.stage in stages]


def held_numbers(design: DesignSpace, values: Floats) -> list[FreeNumber]:
    """Those that are at one of their bounds; the payload that is sought is none of them."""
    pairs = zip(design.free, values[: len(design.free)], strict=True)
    return [
        one
        for one, value in pairs
        if min(value - one.least, one.most - value) <= AT_BOUND * (one.most - one.least)
    ]


def _moved(design: DesignSpace, values: Floats, group: list[FreeNumber]) -> Beginning:
    """The middle is the geometric one: bounds lie factors apart, and are positive."""
    there = values.copy()
    for k, one in enumerate(design.free):
        if one in group:
            there[k] = np.sqrt(one.least * one.most)
    quantities = tuple(one.quantity for one in group)
    strong = _strong_enough(design, values, there, group)
    return Beginning(moved=quantities, values=within_budget(design, strong))


def _strong_enough(
    design: DesignSpace, before: Floats, after: Floats, group: list[FreeNumber]
) -> Floats:
    """With thrusts that were not moved grown as what they lift is: else nothing leaves the pad."""
    old, new, strong = design.vehicle_at(before), design.vehicle_at(after), after.copy()
    for k, one in enumerate(design.free):
        if isinstance(one, FreeThrust) and one not in group:
            place = place_of(old, one.stage)
            grown = _lifted(new, place) / _lifted(old, place)
            strong[k] = min(after[k] * max(grown, 1.0), one.most)
    return strong


def _lifted(vehicle: Vehicle, place: int) -> float:
    """Kg of a stage and what is above it."""
    return float(vehicle.mass_above(place) + vehicle.stages[place].mass)
