"""Vehicles that the program finds, against what must be so."""

from __future__ import annotations

from dataclasses import replace
from math import exp

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.phases.vertical_rise import pad_gravity
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.design.design import Aim, Design
from ascentopt.optimal.design.variables import PayloadMass, PropellantLoad, Thrust
from ascentopt.optimal.design.writer import THRUST_AT_LIFT_OFF
from ascentopt.units import STANDARD_GRAVITY, kN
from tests.optimal.design.solved import designed, resized
from tests.optimal.launchers import four_phase_launcher, four_phase_mission, lander, moon_mission

PAYLOAD = Design.greatest_payload()
LAW = ao.StructuralLaw(stage="ascent", fixed=260.0, per_propellant=0.1, per_thrust=0.013)


def test_the_tanks_multiplier_is_what_a_kilogram_kept_costs() -> None:
    """And one over what a kilogram of payload costs, by the partial of the plain flight."""
    found = designed(lander(), moon_mission(), PAYLOAD)
    more = designed(lander(), moon_mission(), PAYLOAD, kept=10.0)
    worth = found.payload_for_left_over
    assert found.aim - more.aim == pytest.approx(10.0 * worth, rel=5e-3)
    heaviest = ao.optimize(more.vehicle, moon_mission())
    assert heaviest.propellant_margin == pytest.approx(10.0, abs=0.2)  # its meshes are its own
    assert worth == pytest.approx(-1.0 / heaviest.partials["payload"].margin, rel=2e-3)


def test_no_payload_exceeds_tsiolkovskys_and_a_strong_engine_comes_nearer() -> None:
    """With the two impulses that no flight can do without; all that is lost is lost to gravity."""
    gaps = []
    for thrust in (40 * kN, 400 * kN):
        found = designed(lander(thrust), moon_mission(), PAYLOAD)
        (stage,) = found.vehicle.stages
        ratio = exp(impulsive_bound(moon_mission()) / (STANDARD_GRAVITY * stage.engine.vacuum_isp))
        empty = stage.propellant_mass / (ratio - 1.0)
        gaps.append((empty - found.aim - stage.dry_mass) / empty)
    assert 0.0 < gaps[1] < gaps[0] < 0.1


@settings(max_examples=4, deadline=None)
@given(st.floats(0.3, 10.0))
def test_a_vehicle_ten_times_as_large_carries_ten_times_as_much(factor: float) -> None:
    """Without air nothing but ratios counts."""
    own = designed(lander(), moon_mission(), PAYLOAD)
    large = designed(resized(lander(), factor), moon_mission(), PAYLOAD)
    assert large.aim == pytest.approx(factor * own.aim, rel=1e-6)


@settings(max_examples=4, deadline=None)
@given(st.floats(0.0, 3000.0))
def test_where_it_begins_decides_nothing(payload: float) -> None:
    own = designed(lander(), moon_mission(), PAYLOAD)
    other = replace(lander(), payload_mass=payload)
    found = designed(other, moon_mission(), PAYLOAD, begun=lander())
    assert found.aim == pytest.approx(own.aim, rel=1e-6)


def test_the_best_load_goes_with_the_thrust() -> None:
    """Mass in orbit over lift-off mass depends on thrust over weight alone, so that the best of
    these is one number, and the heaviest that is brought to the orbit is as the thrust.
    """
    aim = Aim(name="payload", unit="kg", worth=(1.0, 0.0), maximise=True)
    free = Design(variables=(PayloadMass(), PropellantLoad(part="ascent", lower=1e3)), aim=aim)
    one, two = (designed(lander(f * 40 * kN), moon_mission(), free) for f in (1.0, 1.5))
    dry = lander().stages[0].dry_mass
    assert two.aim + dry == pytest.approx(1.5 * (one.aim + dry), rel=1e-5)
    assert two.values[1] == pytest.approx(1.5 * one.values[1], rel=1e-3)
    fixed = designed(one.vehicle, moon_mission(), PAYLOAD, begun=lander())
    assert fixed.aim == pytest.approx(one.aim, rel=1e-6)


def test_thrust_pays_until_its_own_mass_does_not() -> None:
    """At the optimum neither thrust nor load changes the lift-off mass to first order."""
    lawful = LAW.applied(lander())
    free = (PropellantLoad(part="ascent", lower=1e3), Thrust(part="ascent", lower=1 * kN))
    found = designed(lawful, moon_mission(), Design.least_lift_off_mass(lawful, free, (LAW,)))
    assert found.aim < designed(
        lawful, moon_mission(), Design.least_lift_off_mass(lawful, free[:1], (LAW,))
    ).aim + LAW.per_thrust * 40 * kN
    for factor in (0.97, 1.03):
        thrust = Thrust(part="ascent").changed(found.vehicle, factor * float(found.values[1]))
        other = LAW.applied(thrust)
        by_load = Design.least_lift_off_mass(other, free[:1], (LAW,))
        heavier = designed(other, moon_mission(), by_load, begun=lawful).vehicle
        assert heavier.lift_off_mass > found.vehicle.lift_off_mass
        assert heavier.lift_off_mass == pytest.approx(found.vehicle.lift_off_mass, rel=2e-3)


def test_the_lightest_vehicle_for_a_payload_carries_no_more() -> None:
    """Least load for a payload and greatest payload for a load are one question, asked twice."""
    lawful = LAW.applied(lander())
    lightest = designed(
        lawful,
        moon_mission(),
        Design.least_lift_off_mass(lawful, (PropellantLoad(part="ascent", lower=1e3),), (LAW,)),
    ).vehicle
    assert lightest.stages[0].dry_mass == pytest.approx(LAW.applied(lightest).stages[0].dry_mass)
    assert lightest.payload_mass == pytest.approx(lander().payload_mass)
    again = designed(lightest, moon_mission(), PAYLOAD, begun=lander())
    assert again.aim == pytest.approx(lander().payload_mass, rel=1e-6)


def test_a_weak_engine_holds_what_it_lifts() -> None:
    """Its tank holds more than the orbit takes: the payload is what thrust lifts off the pad."""
    roomy = replace(lander().stages[0], propellant_mass=8000.0)
    stage = replace(roomy, engine=ao.Engine(vacuum_thrust=16 * kN, vacuum_isp=320.0))
    weak = replace(lander(), stages=(stage,), payload_mass=100.0)
    mission = moon_mission()
    found = designed(weak, mission, PAYLOAD)
    lifted = 16 * kN / pad_gravity(mission) - weak.lift_off_mass + weak.payload_mass
    assert found.aim == pytest.approx(lifted, abs=0.1)
    assert found.payload_for_left_over == 0.0
    lift = abs(found.multipliers[THRUST_AT_LIFT_OFF])
    assert lift == pytest.approx(1.0 / pad_gravity(mission), rel=0.2)


def test_shared_loads_of_a_launcher_with_boosters() -> None:
    """Both stages' loads free: the lightest for the payload, and no lighter one beside it."""
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    free = tuple(PropellantLoad(part=name, lower=1e3) for name in ("stage 1", "stage 2"))
    both = designed(vehicle, mission, Design.least_lift_off_mass(vehicle, free))
    for one in free:
        alone = designed(vehicle, mission, Design.least_lift_off_mass(vehicle, (one,)))
        assert both.vehicle.lift_off_mass < alone.vehicle.lift_off_mass
    again = designed(both.vehicle, mission, PAYLOAD, begun=vehicle)
    assert again.aim == pytest.approx(vehicle.payload_mass, rel=1e-6)


def test_the_thrust_of_boosters_is_no_unknown() -> None:
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    design = Design.least_lift_off_mass(vehicle, (Thrust(part="six"),))
    with pytest.raises(ao.InputError, match="another sequence of arcs"):
        designed(vehicle, mission, design)


def test_numbers_are_between_their_bounds() -> None:
    design = Design.greatest_payload(upper=1200.0)
    found = designed(lander(), moon_mission(), design)
    assert np.all(found.values == 1200.0)
