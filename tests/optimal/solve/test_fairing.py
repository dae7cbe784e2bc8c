"""The fairing goes when the heating allows, in whichever arc that is."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation.model import physical
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.guess.fairing_drop import drop_time
from ascentopt.optimal.guess.family_search import fly_guess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.phase_model import arc_model
from ascentopt.optimal.solve.attempt_at import attempt_at, skipped
from ascentopt.units import deg, km
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import earth_mission
from tests.optimal.problem.test_limits import vehicle


def launch(body: ao.Body, altitude: float, max_heating: float) -> ao.Ascent:
    fairing = ao.Fairing(mass=320.0, max_heating=max_heating)
    mission = replace(
        earth_mission(), body=body, limits=ao.FlightLimits(),
        orbit=ao.CircularOrbit(altitude=altitude, inclination=60 * deg),
    )  # fmt: skip
    return ao.optimize(replace(vehicle(), fairing=fairing), mission)


def heating_at_the_drop(ascent: ao.Ascent) -> float:
    trajectory = ascent.trajectory
    return float(np.interp(ascent.events["fairing drop"].time, trajectory.time, trajectory.heating))


@pytest.mark.slow
def test_on_earth_it_goes_as_soon_as_the_heating_allows() -> None:
    ascent = launch(ao.earth(), 300 * km, 1135.0)
    assert heating_at_the_drop(ascent) == pytest.approx(1135.0, rel=1e-3)
    assert not ascent.certificate.beyond()


def test_in_thin_air_it_goes_with_the_first_stage_still_burning() -> None:
    """A guess that puts the drop into the second burn must not hold it there."""
    fairing = ao.Fairing(mass=320.0, max_heating=1135.0)
    carrying = replace(vehicle(), fairing=fairing)
    mission = replace(
        earth_mission(), body=ao.mars(), limits=ao.FlightLimits(),
        orbit=ao.CircularOrbit(altitude=250 * km, inclination=60 * deg),
    )  # fmt: skip
    guess = fly_guess(sequence_of(carrying, mission, direct(carrying)), mission)
    assert drop_time(guess, fairing.max_heating)[0] == "second"
    solver = task_of(carrying, mission)
    attempt = attempt_at(solver, direct(carrying))
    assert attempt.plan.fairing_arc == "first"
    # Nor may it go at the pitch-over, slow as the flight is there: the heating is yet to come.
    drop = next(k for k, arc in enumerate(attempt.sequence.arcs) if arc.joint.fairing)
    assert attempt.found.arcs[drop].times[-1] > 100.0


def test_the_other_burns_are_where_else_the_fairing_may_go() -> None:
    fairing = ao.Fairing(mass=320.0, max_heating=1135.0)
    carrying = replace(vehicle(), fairing=fairing)
    solver = task_of(carrying, earth_mission())
    for arc, beside in (("first", ("second",)), ("second", ("first",))):
        plan = FlightPlan(inserting_stage=1, fairing_arc=arc)
        assert skipped(solver, plan, "not flown").other_burns_for_the_drop() == beside
    kept = skipped(solver, FlightPlan(inserting_stage=1), "not flown")
    assert kept.other_burns_for_the_drop() == ()


def test_a_coast_drops_it_at_its_end() -> None:
    """When within a coast is worth nothing; the flight is not cut there."""
    plan = FlightPlan(inserting_stage=1, coast_before=(1,), fairing_arc="coast to second")
    carrying = replace(vehicle(), fairing=ao.Fairing(mass=320.0))
    sequence = sequence_of(carrying, earth_mission(), plan)
    coast, burn = sequence.arcs[-2:]
    assert coast.joint.fairing
    assert (coast.joint.mass_drop, coast.joint.also) == (320.0, "second ignition")
    assert burn.name == "second"
    assert burn.least_mass == carrying.payload_mass + carrying.stages[1].dry_mass


def test_carried_through_the_rest_of_a_coast_it_costs_nothing() -> None:
    """So its drop within a coast, a free instant that is worth nothing, need not be solved for.

    Where no engine burns mass decides nothing but how much the air slows the vehicle down, and a
    heavier one less: 1 part in 10000 of gravity where free-molecular heating ends.
    """
    plan = FlightPlan(inserting_stage=1, restarts=1, fairing_arc="coast 1")
    arc = next(a for a in sequence_of(TURNSTONE, PELICAN_POINT, plan).arcs if a.name == "coast 1")
    rates = physical(arc_model(arc.kind, ()))

    def acceleration(altitude: float, mass: float) -> np.ndarray:
        state = [PELICAN_POINT.body.radius + altitude, 0.0, 0.0, 100.0, 7500.0, 0.0, mass]
        found = rates(0.0, 0.0, state, [], arc.numbers)[0]
        return np.array(found, dtype=float).ravel()[3:6]

    light, heavy = (acceleration(115 * km, mass) for mass in (4000.0, 4320.0))
    assert np.linalg.norm(light - heavy) < 1e-4 * np.linalg.norm(light)
    assert heavy[1] > light[1]
    high, same = (acceleration(250 * km, mass) for mass in (4000.0, 4320.0))
    assert np.linalg.norm(high - same) < 1e-6 * np.linalg.norm(high)
