"""What a structure is begun from, and what is no start."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.flown_start import FlownStart, first_guess
from tests.optimal.launchers import lander, moon_mission


def test_a_guess_flung_past_the_centre_leads_nowhere_and_stops_nobody() -> None:
    """In steps a coast through the centre comes out with any speed: another guess is next."""
    plan = FlightPlan(inserting_stage=0)
    start = FlownStart.flown(task_of(lander(), moon_mission()), plan, first_guess(plan), ())
    *before, last = start.guess.arcs
    flung = replace(start.guess, arcs=(*before, replace(last, states=1e9 * (1.0 + last.states))))
    attempt = start.solver.solve_without_load_limits(flung)
    assert not attempt.reached
    assert attempt.shortfall is None
