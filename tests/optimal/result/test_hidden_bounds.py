"""Bounds that nobody set are told where they act, and only there."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

from ascentopt.collocation import Arc, solve
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.phase_model import NEARNESS
from ascentopt.optimal.result.hidden_bounds import active_bounds
from ascentopt.optimal.solve.attempt_at import attempt_at
from tests.optimal.launchers import lander, moon_mission

MISSION = moon_mission()


@cache
def half_a_revolution() -> Attempt:
    """A lunar flight with a coast of most of an hour, which is solved in elements of the orbit."""
    return attempt_at(task_of(lander(), MISSION), FlightPlan(inserting_stage=0, restarts=1))


def with_nearness(arc: Arc, least: float) -> Arc:
    """The arc with another least semilatus rectum over radius; itself where it has none."""
    names, bounds = [one.name for one in arc.model.path], arc.path_bounds
    if bounds is None or NEARNESS.name not in names:
        return arc
    lower = tuple(
        least if name == NEARNESS.name else low
        for name, low in zip(names, bounds.lower, strict=True)
    )
    return replace(arc, path_bounds=replace(bounds, lower=lower))


def test_a_flight_far_from_all_of_them_is_told_nothing() -> None:
    assert active_bounds(MISSION, half_a_revolution(), lander().propellant_mass) == ()


def test_an_orbit_as_stretched_as_elements_can_tell_is_told() -> None:
    """The least that the transfer has is asked for, and five parts in ten thousand more."""
    free = half_a_revolution()
    own = [
        float(arc.path[:, [one.name for one in arc.arc.model.path].index(NEARNESS.name)].min())
        for arc in free.found.arcs
        if NEARNESS.name in [one.name for one in arc.arc.model.path]
    ]
    assert own
    problem = free.found.problem
    arcs = tuple(with_nearness(arc, 1.0005 * min(own)) for arc in problem.arcs)
    held = solve(replace(problem, arcs=arcs), free.found.as_guess())
    told = active_bounds(MISSION, replace(free, solution=held), lander().propellant_mass)
    assert told == ("the radius is at most 1000 times the semilatus rectum",)
