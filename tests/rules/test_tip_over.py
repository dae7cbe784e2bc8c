"""How fast a vehicle is tipped over: as brisk as it leaves the pad."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.kick import CALM_RATE, tip_over_rate
from ascentopt.rules.laws.rule import Pad
from ascentopt.rules.tune.tuning import tune
from ascentopt.units import deg, km, kPa
from tests.rules.cases import CIRCLE, KICK
from tests.rules.pebble import DUNLIN, MISSION

PLAN = FlightPlan(inserting_stage=1)


def pad(mission: ao.Mission, share: float) -> Pad:
    """A vehicle whose thrust in vacuum is so many times Dunlin's."""
    lower, upper = DUNLIN.stages
    assert isinstance(lower.engine, ao.Engine)
    engine = replace(lower.engine, vacuum_thrust=share * lower.engine.vacuum_thrust)
    vehicle = replace(DUNLIN, stages=(replace(lower, engine=engine), upper))
    return Pad(mission=mission, sequence=sequence_of(vehicle, mission, PLAN), heading=1.5)


def airless(radius: float) -> ao.Mission:
    """On a body with the gravity of Pebble's ground."""
    body = ao.Body(
        name="Bare", gravitational_parameter=9.2 * radius**2, radius=radius, rotation_rate=0.0
    )
    site, orbit = ao.LaunchSite(latitude=0.0), ao.CircularOrbit(altitude=85 * km)
    return ao.Mission(body=body, site=site, orbit=orbit)


def test_what_gains_twice_as_much_is_tipped_over_twice_as_fast() -> None:
    there, thrust = airless(640 * km), DUNLIN.stages[0].engine.mean_thrust
    weight = 9.2 * DUNLIN.lift_off_mass / thrust
    once, twice = (tip_over_rate(pad(there, weight * (1.0 + gain))) for gain in (0.6, 1.2))
    assert twice == pytest.approx(2.0 * once, rel=1e-6)
    assert once > CALM_RATE


def test_on_a_body_four_times_as_large_it_takes_half_the_rate() -> None:
    # The circle's speed at the ground goes by the root of the radius, the habitual kick's by its.
    small, large = (tip_over_rate(pad(airless(r), 1.5)) for r in (640 * km, 16.0 * 640 * km))
    assert small == pytest.approx(2.0 * large, rel=1e-6)


def test_none_is_slower_than_an_ordinary_launcher() -> None:
    assert tip_over_rate(pad(MISSION, 0.62)) == CALM_RATE


def test_a_limit_on_the_pitch_rate_is_kept() -> None:
    limits = ao.FlightLimits(pitch_rate=1.5 * deg)
    assert tip_over_rate(pad(replace(MISSION, limits=limits), 1.5)) == limits.pitch_rate


def test_a_strong_first_stage_keeps_the_limit_on_q_alpha() -> None:
    """At 2 deg/s nothing that is flat enough kept it: the best rule cost 1.6 % and broke it."""
    strong = ao.scenarios()["earth-strong-first"]
    flight = RuleFlight(
        vehicle=strong.vehicle, mission=strong.mission, rule=KICK, insertion=CIRCLE
    )
    best = tune(flight).best
    assert best is not None
    flown = ao.fly(strong.vehicle, strong.mission, best.law)
    assert float(max(flown.trajectory.q_alpha)) < 150.0 * kPa * deg * 1.001
    assert best.propellant_used < 27050.0  # the optimum uses 26972 kg
