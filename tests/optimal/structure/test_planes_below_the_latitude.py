"""Inclinations below the latitude: from a parking orbit, after a coast to where the planes meet."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.three_stages import (
    inclination,
    launch_to,
    orbit_at,
    spoonbill,
    with_restarts,
)

LOW = ao.CircularOrbit(altitude=600 * km, inclination=5 * deg)


@cache
def flown(latitude: float, restarts: int) -> ao.Ascent:
    """To 600 km and 5 deg from so many degrees of latitude."""
    return ao.optimize(spoonbill(restarts, payload=2000.0), launch_to(LOW, latitude * deg))


@pytest.mark.slow
def test_a_low_plane_is_reached_from_a_parking_orbit() -> None:
    ascent = flown(28.5, 2)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert inclination(ascent) == pytest.approx(5.0, abs=1e-4)
    assert orbit_at(ascent, -1).semi_major_axis == pytest.approx(6978137.0, rel=1e-7)
    assert ascent.propellant_margin > 5000.0


def test_the_plane_is_turned_after_a_coast() -> None:
    """A first burn that ends north of the equator lies in a plane that holds its place there."""
    ascent = flown(28.5, 2)
    arcs = ascent.trajectory.arcs
    parked = next(k for k, arc in enumerate(arcs) if arc.name.startswith("coast"))
    assert orbit_at(ascent, parked).inclination / deg > 15.0
    assert arcs[parked].times[-1] - arcs[parked].times[0] > 100.0


@pytest.mark.slow
def test_the_other_hemisphere_costs_the_same() -> None:
    north, south = flown(28.5, 2), flown(-28.5, 2)
    assert north.propellant_used == pytest.approx(south.propellant_used, rel=1e-6)


@pytest.mark.slow
def test_a_last_stage_that_is_lit_once_may_wait_for_the_node_before() -> None:
    """It costs more than two burns beyond a parking orbit, and is no error."""
    once = flown(28.5, 0)
    assert once.certificate.verdict is Verdict.CERTIFIED
    assert inclination(once) == pytest.approx(5.0, abs=1e-4)
    assert once.plan.coast_before == (2,)
    assert once.propellant_used > flown(28.5, 2).propellant_used


def equatorial_from_the_moon() -> ao.Mission:
    orbit = ao.CircularOrbit(altitude=100 * km, inclination=2 * deg)
    return replace(moon_mission(latitude=10 * deg), orbit=orbit)


def test_one_stage_that_is_lit_once_cannot_and_is_told_so() -> None:
    once = with_restarts(lander(), 0)
    with pytest.raises(ao.InputError, match=r"inclination.*latitude"):
        ao.optimize(once, equatorial_from_the_moon())


def test_one_stage_that_is_lit_again_turns_its_plane_at_the_node() -> None:
    ascent = ao.optimize(lander(), equatorial_from_the_moon())
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert inclination(ascent) == pytest.approx(2.0, abs=1e-4)


def two_stages_relit_twice(payload: float) -> ao.Vehicle:
    first = ao.Engine(vacuum_thrust=900 * kN, vacuum_isp=305.0, sea_level_isp=275.0)
    last = ao.Engine(vacuum_thrust=85 * kN, vacuum_isp=338.0)
    return ao.Vehicle(
        name="Whimbrel",
        payload_mass=payload,
        stages=(
            ao.Stage(name="one", propellant_mass=48e3, dry_mass=3.9e3, engine=first),
            ao.Stage(name="two", propellant_mass=10.5e3, dry_mass=800.0, engine=last, restarts=2),
        ),
        fairing=ao.Fairing(mass=240.0),
        aerodynamics=ao.Aerodynamics(reference_area=3.6, drag_coefficient=0.4),
    )


@pytest.mark.slow
@pytest.mark.parametrize("altitude", [880.0, 900.0, 920.0])
def test_a_high_plane_is_turned_from_a_low_circle_by_three_burns(altitude: float) -> None:
    """To climb and turn in one burn takes 90 kg more."""
    orbit = ao.CircularOrbit(altitude=altitude * km, inclination=20 * deg)
    mission = ao.Mission(body=ao.earth(), site=ao.LaunchSite(latitude=31 * deg), orbit=orbit)
    ascent = ao.optimize(two_stages_relit_twice(500.0), mission)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.plan.restarts == 2
    assert ascent.propellant_used < 57990.0


@pytest.mark.slow
def test_a_flight_that_a_transfer_led_to_is_not_the_last_word() -> None:
    """On a small planet it drops the fairing late, and all that moves lead to uses 0.3 kg more."""
    air = ao.Atmosphere.exponential(surface_density=0.08, scale_height=5.2 * km, ceiling=70 * km)
    planet = ao.Body(
        name="Tern",
        gravitational_parameter=3.4e11,
        radius=420 * km,
        rotation_rate=4.1e-4,
        atmosphere=air,
        j2=6e-3,
    )
    engine = ao.Engine(vacuum_thrust=6.2 * kN, vacuum_isp=290.0)
    stage = ao.Stage(name="one", propellant_mass=520.0, dry_mass=110.0, engine=engine, restarts=3)
    vehicle = ao.Vehicle(
        name="Sandpiper",
        payload_mass=42.0,
        stages=(stage,),
        fairing=ao.Fairing(mass=8.0),
        aerodynamics=ao.Aerodynamics(reference_area=0.5, drag_coefficient=0.6),
    )
    orbit = ao.CircularOrbit(altitude=135 * km, inclination=20 * deg)
    mission = ao.Mission(body=planet, site=ao.LaunchSite(latitude=52 * deg), orbit=orbit)
    assert ao.optimize(vehicle, mission).propellant_used < 258.2
