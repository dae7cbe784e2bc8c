"""The main job on other vehicles and bodies, and what it refuses."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.bounds.lift_off import stages_beyond_acceleration_limit
from ascentopt.optimal.explain.refusal import infeasible
from ascentopt.optimal.optimize import task_of
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, tonne
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import earth_mission, lander, moon_mission


@pytest.fixture(scope="module")
def from_the_moon() -> ao.Ascent:
    return ao.optimize(lander(), moon_mission())


def test_an_airless_ascent_is_certified(from_the_moon: ao.Ascent) -> None:
    assert not from_the_moon.certificate.beyond(), from_the_moon.certificate


def test_no_ascent_takes_less_than_the_impulsive_bound(from_the_moon: ao.Ascent) -> None:
    bound = impulsive_bound(moon_mission())
    assert bound < from_the_moon.budget.ideal < 1.15 * bound


def test_both_structures_are_listed_and_the_best_comes_first(from_the_moon: ao.Ascent) -> None:
    first, second = from_the_moon.candidates
    assert first.standing is Standing.BEST
    assert first.propellant_used is not None
    assert second.propellant_used is None or second.propellant_used >= first.propellant_used
    assert all(candidate.history for candidate in from_the_moon.candidates)


def test_north_and_south_cost_the_same(from_the_moon: ao.Ascent) -> None:
    """The Moon is symmetric about its equator, and a free inclination flies due east."""
    mirrored = ao.optimize(lander(), moon_mission(latitude=-10 * deg))
    assert mirrored.propellant_used == pytest.approx(from_the_moon.propellant_used, rel=1e-6)


@pytest.mark.parametrize(("altitude", "speed"), [(15 * km, 1687.06), (100 * km, 1726.20)])
def test_the_impulsive_bound_is_the_surface_grazing_hohmann(altitude: float, speed: float) -> None:
    """Recomputed by hand for a Moon that does not turn: mu 4.9028e12, R 1737.4 km."""
    still = ao.Body(
        name="still moon", gravitational_parameter=4.9028e12, radius=1737.4 * km, rotation_rate=0.0
    )
    mission = ao.Mission(
        body=still, site=ao.LaunchSite(latitude=0.0), orbit=ao.CircularOrbit(altitude=altitude)
    )
    assert impulsive_bound(mission) == pytest.approx(speed, abs=0.01)


def test_the_spin_helps_eastward_and_hinders_westward() -> None:
    def bound(inclination: float) -> float:
        orbit = ao.CircularOrbit(altitude=300 * km, inclination=inclination)
        return impulsive_bound(replace(earth_mission(), orbit=orbit))

    assert bound(12 * deg) < bound(90 * deg) < bound(168 * deg)


def _small(thrust: float = 400 * kN, propellant: float = 20 * tonne) -> ao.Vehicle:
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=300.0)
    stage = ao.Stage(name="only", propellant_mass=propellant, dry_mass=2 * tonne, engine=engine)
    return ao.Vehicle(name="Dunlin", payload_mass=500.0, stages=(stage,))


def test_thrust_below_the_weight_is_an_input_error() -> None:
    with pytest.raises(ao.InputError, match=r"thrust at lift-off.*must exceed the weight.*Add"):
        ao.optimize(_small(thrust=150 * kN), earth_mission())


def test_a_first_stage_that_is_lit_late_is_named() -> None:
    (stage,) = _small().stages
    late = replace(_small(), stages=(replace(stage, ignition_delay=1.5),))
    with pytest.raises(ao.InputError, match=r"Stage 'only' is lit 1\.5 s later"):
        ao.optimize(late, earth_mission())


def test_a_limit_that_excludes_the_start_is_an_input_error() -> None:
    mission = earth_mission(axial_acceleration=1.2 * STANDARD_GRAVITY)
    with pytest.raises(ao.InputError, match=r"axial_acceleration.*must not exclude the start"):
        ao.optimize(_small(), mission)


def test_what_cannot_fly_is_refused_by_the_bound() -> None:
    with pytest.raises(ao.InfeasibleAscent, match="short by at least") as refusal:
        ao.optimize(_small(), earth_mission())
    assert refusal.value.shortfall is not None
    assert refusal.value.shortfall > 1000.0


def test_a_solid_stage_alone_is_refused_by_the_bound() -> None:
    motor = ao.SolidMotor(time=(0.0, 60.0), vacuum_thrust=(900 * kN, 900 * kN), vacuum_isp=280.0)
    stage = ao.Stage(
        name="solid", propellant_mass=motor.propellant_mass, dry_mass=1500.0, engine=motor
    )
    vehicle = ao.Vehicle(name="Knot", payload_mass=200.0, stages=(stage,))
    with pytest.raises(ao.InfeasibleAscent, match="short by at least 680 m/s") as refusal:
        ao.optimize(vehicle, earth_mission())
    assert refusal.value.shortfall is not None
    assert refusal.value.shortfall >= 679.5


def test_a_limit_on_acceleration_that_a_fixed_engine_must_break_is_named() -> None:
    """1150 kN on 18.67 t are 6.28 g; the second stage inserts, and may be cut off before."""
    limited = replace(
        PELICAN_POINT, limits=ao.FlightLimits(axial_acceleration=5 * STANDARD_GRAVITY)
    )
    told = list(stages_beyond_acceleration_limit(TURNSTONE, limited))
    assert len(told) == 1
    assert "stage 'first' accelerates at 6.28 g" in told[0]
    assert "is 5.00 g" in told[0]
    assert not list(stages_beyond_acceleration_limit(TURNSTONE, PELICAN_POINT))
    solver = task_of(TURNSTONE, limited)
    refusal = infeasible(solver, [])
    assert "Look here first: stage 'first'" in str(refusal)
