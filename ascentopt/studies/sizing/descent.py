"""From a flown design to the best one, flight and vehicle together."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

import numpy as np

from ascentopt.optimal.task import Task
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.flown import FlownDesign, flown_from
from ascentopt.studies.sizing.margin_model import MarginModel
from ascentopt.studies.sizing.next_design import Merit, proposed
from ascentopt.typing import Floats

FIRST_RADIUS = 0.25
"""Of the region of trust, in shares of the unknowns: a flight is followed that far at once."""

LEAST_RADIUS = 1e-5
"""Below which nothing is gained any more that the solver's tolerance lets be seen."""

SETTLED = 1e-8
"""Of the merit's size: a gain that the model promises and that is nothing."""

MOST_STEPS = 60
"""Ten to twenty do."""

DEAR = 4.0
"""Times the dearest exchange at the flown design that a missing kg of margin costs."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Step:
    """How far the descent has come.

    Attributes:
        best: the best design so far; margin may be missing.
        settled: whether nothing is gained any more.
    """

    best: FlownDesign
    settled: bool


def descent(design: DesignSpace, task: Task, flown: FlownDesign, kept: float) -> Iterator[Step]:
    """Better and better designs; the last one is settled, or the best that steps led to.

    Each step takes the least of a model of the margin (`MarginModel`) within a region of trust and
    flies it, the flight being followed from the last one (J. Nocedal, S. J. Wright, *Numerical
    Optimization*, 2nd ed., sec. 18.5, from memory).

    Args:
        design: the vehicles.
        task: the mission and how hard to try.
        flown: where to begin.
        kept: kg of margin to be left.

    Raises:
        TimeIsUp: when no time is left.
    """
    scales = np.maximum(flown.values, 0.01 * design.upper)
    model = MarginModel(
        design=design, flown=flown, scales=scales, bend=np.zeros((len(scales), len(scales)))
    )
    radius = FIRST_RADIUS
    for _ in range(MOST_STEPS):
        merit = Merit(design=design, kept=kept, price=_price(design, model))
        offer = proposed(merit, model, radius)
        if offer is None:
            radius *= 0.25
            if radius < LEAST_RADIUS:
                return
            continue
        size = abs(merit.of(model.flown.values, kept))
        if offer.gain <= SETTLED * size:
            yield Step(best=model.flown, settled=True)
            return
        found = flown_from(design, task, offer.values, model.flown.attempt)
        gained = -1.0
        if found is not None:
            before = merit.of(model.flown.values, model.flown.margin)
            gained = (before - merit.of(found.values, found.margin)) / offer.gain
        radius = _next_radius(radius, gained, offer.values, model)
        if found is not None:
            learned = model.at(found)
            model = learned if gained > 0.0 else replace(model, bend=learned.bend)
        yield Step(best=model.flown, settled=False)
        if radius < LEAST_RADIUS:
            return


def _price(design: DesignSpace, model: MarginModel) -> float:
    """Of a missing kg of margin: dearer than any exchange of margin for the objective."""
    flown = model.flown
    if design.seeks_payload:
        return DEAR / abs(flown.payload_slope)
    pays = flown.slopes > 0.0
    if not pays.any():
        return DEAR * float(np.abs(design.cost_slopes).max())
    return DEAR * float((np.abs(design.cost_slopes)[pays] / flown.slopes[pays]).max())


def _next_radius(radius: float, gained: float, values: Floats, model: MarginModel) -> float:
    """By the share of what was promised that was gained."""
    step = float(np.abs((values - model.flown.values) / model.scales).max())
    if gained < 0.25:
        return 0.25 * step
    return max(radius, 2.0 * step) if gained > 0.75 else radius
