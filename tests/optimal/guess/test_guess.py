"""A guess is a flight: above the ground, and with no more propellant than there is."""

from __future__ import annotations

import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.guess.family_search import fly_guess
from ascentopt.optimal.guess.flown_arcs import FlownArc
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN
from tests.optimal.launchers import Launch, earth_mission

LIGHT = ao.Engine(vacuum_thrust=150 * kN, vacuum_isp=345.0)


def guess(vehicle: ao.Vehicle, mission: ao.Mission) -> tuple[FlownArc, ...]:
    sequence = sequence_of(vehicle, mission, direct(vehicle))
    return fly_guess(sequence, mission)


def boosted() -> ao.Vehicle:
    """Two solid boosters beside a core that can throttle: its burn-out time is free."""
    motor = ao.SolidMotor(time=(0.0, 50.0, 90.0), vacuum_thrust=(5e5, 4e5, 2e5), vacuum_isp=270.0)
    core = ao.Engine(vacuum_thrust=400 * kN, vacuum_isp=320.0, min_throttle=0.5)
    return ao.Vehicle(
        name="Dunlin",
        payload_mass=1000.0,
        stages=(
            ao.Stage(name="first", propellant_mass=25e3, dry_mass=2500.0, engine=core),
            ao.Stage(name="second", propellant_mass=9e3, dry_mass=900.0, engine=LIGHT),
        ),
        boosters=(
            ao.BoosterGroup(name="side", count=2, propellant_mass=motor.propellant_mass,
                            dry_mass=1500.0, engine=motor),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=4.0, drag_coefficient=0.4),
    )  # fmt: skip


def tips_over_early() -> Launch:
    """Tips over with the first air flow; its upper stages are weak."""
    vehicle = ao.Vehicle(
        name="Garganey", payload_mass=619.81,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=50286.1, dry_mass=3270.69,
                     engine=ao.Engine(vacuum_thrust=1367.46 * kN, vacuum_isp=332.773,
                                      sea_level_isp=282.485, min_throttle=0.709863)),
            ao.Stage(name="stage 2", propellant_mass=23065.6, dry_mass=2650.75,
                     engine=ao.Engine(vacuum_thrust=207.934 * kN, vacuum_isp=348.998,
                                      min_throttle=0.416789), ignition_delay=6.60521),
            ao.Stage(name="stage 3", propellant_mass=3266.35, dry_mass=387.9,
                     engine=ao.Engine(vacuum_thrust=54.4694 * kN, vacuum_isp=320.673,
                                      sea_level_isp=134.332)),
        ),
        fairing=ao.Fairing(mass=40.0176),
        aerodynamics=ao.Aerodynamics(reference_area=4.26845, drag_coefficient=0.230283,
                                     normal_force_slope=3.99841),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.Body(name="Brunt", gravitational_parameter=583030000000000.0, radius=6972.67 * km,
                     rotation_rate=0.000108792,
                     atmosphere=ao.Atmosphere.exponential(surface_density=0.918722,
                                                          scale_height=7.02179 * km,
                                                          ceiling=110.0 * km,
                                                          surface_temperature=288.15), j2=0.0015),
        site=ao.LaunchSite(latitude=-37.3958 * deg),
        orbit=ao.CircularOrbit(altitude=216.418 * km, inclination=107.451 * deg),
        vertical_rise=None,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def test_no_stage_burns_more_than_it_has_beside_solid_boosters() -> None:
    for flown in guess(boosted(), earth_mission()):
        assert flown.states[-1, 6] > 0.99 * flown.arc.least_mass


@pytest.mark.slow
def test_a_weak_vehicle_whose_guess_dives_flies_all_the_same() -> None:
    """Drawn to the air flow it tips over early, and every member of the family ends underground."""
    ascent = tips_over_early().optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert ascent.propellant_used < 76_600.0
