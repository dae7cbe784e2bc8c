"""Attempts at flights by a parking orbit, one for each way to place the coasts."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.flight.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.bounds import impulsive_bound
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.inserting import carrying_the_rest
from ascentopt.optimal.run import Run
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structure.parking import circle_for, onward, planned_with_early_end
from ascentopt.optimal.structure.slots import (
    before_the_first_coast,
    can_be_cut_off,
    plans_with_coasts,
)

COASTS = (1, 2)
"""On the way from the circle to the orbit: one impulse turns the plane, two change the height."""


def parked(solving: Solving, stage: int) -> Iterator[Attempt]:
    """Flights in which a stage inserts, with one or two coasts after a low circle.

    Every way to place the coasts, but for those in which the stages below the first coast have less
    speed than the circle takes.
    """
    circles: dict[tuple[FlightPlan, int], Attempt | None] = {}
    for coasts in COASTS:
        for plan in plans_with_coasts(solving.vehicle, solving.mission, stage, coasts):
            found = _by_the_circle(solving, plan, coasts, circles)
            if found is not None:
                yield found


def _by_the_circle(
    solving: Solving,
    plan: FlightPlan,
    coasts: int,
    circles: dict[tuple[FlightPlan, int], Attempt | None],
) -> Attempt | None:
    below = before_the_first_coast(solving.vehicle, plan)
    if (below, coasts) not in circles:
        circles[below, coasts] = _into_the_circle(solving, below, coasts)
    first = circles[below, coasts]
    if first is None:
        return None
    planned = replace(planned_with_early_end(plan, below), fairing_arc=first.plan.fairing_arc)
    sequence = sequence_of(solving.vehicle, solving.mission, planned)
    start = onward(first.found, first.sequence, sequence, solving.mission)
    if start is None:
        return None
    lines = (*first.history, "from a circle, by impulses between Kepler arcs")
    run = Run(solving, sequence, planned, start.meshes, lines, low=first.low)
    return run.onward(start.guess)


def _into_the_circle(solving: Solving, below: FlightPlan, coasts: int) -> Attempt | None:
    """The direct insertion into the circle; None where it is not reached."""
    vehicle, stage = solving.vehicle, below.inserting_stage
    circle = circle_for(solving.mission, vehicle.fairing, coasts)
    if circle is None or not can_be_cut_off(vehicle, stage):
        return None
    if carrying_the_rest(vehicle, stage) < impulsive_bound(circle).speed:
        return None
    first = replace(solving, mission=circle).once(below)
    return first if first.reached else None
