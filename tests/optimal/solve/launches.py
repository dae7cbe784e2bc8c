"""Launches whose limits bite, or whose solves were wrong once."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import deg, km, kN, kPa
from tests.optimal.launchers import Launch, scaled_drag


def a_strong_solid_with_much_left() -> Launch:
    """A solid motor below a liquid stage that keeps 1500 m/s, to 108 km within 96 kPa."""
    vehicle = ao.Vehicle(
        name="Grebe", payload_mass=14133.2,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=1184830.0, dry_mass=127103.0,
                     engine=ao.SolidMotor(time=(0.0, 31.3079, 52.1799, 83.4879, 104.36),
                                          vacuum_thrust=(34841.8 * kN, 36356.6 * kN, 25752.6 * kN,
                                                         28782.3 * kN, 18178.3 * kN),
                                          vacuum_isp=270.208,
                                          sea_level_isp=245.323).scaled_to(1184830.0)),
            ao.Stage(name="stage 2", propellant_mass=141426.0, dry_mass=9352.81,
                     engine=ao.Engine(vacuum_thrust=818.542 * kN, vacuum_isp=315.524,
                                      min_throttle=0.467097), restarts=1),
        ),
        fairing=ao.Fairing(mass=2776.2),
        aerodynamics=ao.Aerodynamics(reference_area=28.9919, drag_coefficient=0.201492),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-28.17 * deg),
        orbit=ao.CircularOrbit(altitude=107.861 * km, inclination=80.7066 * deg),
        limits=ao.FlightLimits(dynamic_pressure=96.1451 * kPa),
        vertical_rise=65.2205,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def eight_boosters_at_a_small_angle() -> Launch:
    """Two liquid and six solid boosters, and 5 deg of angle of attack at most."""
    vehicle = ao.Vehicle(
        name="Wigeon", payload_mass=5453.94,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=90243.0, dry_mass=7597.79,
                     engine=ao.Engine(vacuum_thrust=1499.1 * kN, vacuum_isp=319.647,
                                      sea_level_isp=285.958, min_throttle=0.870333)),
            ao.Stage(name="stage 2", propellant_mass=24220.9, dry_mass=3357.52,
                     engine=ao.Engine(vacuum_thrust=173.252 * kN, vacuum_isp=354.842,
                                      sea_level_isp=264.562, min_throttle=0.433174)),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=2, propellant_mass=20441.1, dry_mass=2153.63,
                            engine=ao.Engine(vacuum_thrust=971.53 * kN, vacuum_isp=324.915,
                                             sea_level_isp=277.302)),
            ao.BoosterGroup(name="boosters 2", count=6, propellant_mass=9051.41, dry_mass=1175.19,
                            engine=ao.SolidMotor(time=(0.0, 34.4505, 57.4175, 91.868, 114.835),
                                                 vacuum_thrust=(247.18 * kN, 257.927 * kN,
                                                                182.699 * kN, 204.192 * kN,
                                                                128.964 * kN), vacuum_isp=276.116,
                                                 sea_level_isp=235.79).scaled_to(9051.41)),
        ),
        fairing=ao.Fairing(mass=707.181),
        aerodynamics=ao.Aerodynamics(reference_area=5.77614, drag_coefficient=scaled_drag(1.2547)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=0.0 * deg),
        orbit=ao.CircularOrbit(altitude=157.206 * km),
        limits=ao.FlightLimits(dynamic_pressure=204.425 * kPa, angle_of_attack=5.18052 * deg),
        vertical_rise=39.2864,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def pushed_too_hard_by_its_boosters() -> Launch:
    """Four solid boosters have more thrust than 34 kPa of dynamic pressure allow."""
    vehicle = ao.Vehicle(
        name="Plover", payload_mass=12194.8,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=218220.0, dry_mass=25605.2,
                     engine=ao.Engine(vacuum_thrust=3641.15 * kN, vacuum_isp=338.504,
                                      sea_level_isp=303.667)),
            ao.Stage(name="stage 2", propellant_mass=73230.5, dry_mass=11406.9,
                     engine=ao.Engine(vacuum_thrust=1007.58 * kN, vacuum_isp=465.0,
                                      min_throttle=0.923281)),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=4, propellant_mass=47721.2, dry_mass=6640.85,
                            engine=ao.SolidMotor(time=(0.0, 52.4118, 104.824),
                                                 vacuum_thrust=(1141.88 * kN, 1332.19 * kN,
                                                                1268.75 * kN), vacuum_isp=286.911,
                                                 sea_level_isp=244.041).scaled_to(47721.2)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=10.8907, drag_coefficient=0.494035,
                                     normal_force_slope=1.69342),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-39.2857 * deg, altitude=887.582),
        orbit=ao.EllipticalOrbit(periapsis_altitude=544.884 * km, apoapsis_altitude=1318.97 * km,
                                 inclination=85.0229 * deg),
        limits=ao.FlightLimits(dynamic_pressure=34.4512 * kPa),
        vertical_rise=208.767,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def a_light_upper_stage_on_a_strong_solid() -> Launch:
    """To 409 km from 60 deg, within the limit on q alpha alone."""
    vehicle = ao.Vehicle(
        name="Linnet", payload_mass=1947.84,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=527992.0, dry_mass=52287.8,
                     engine=ao.SolidMotor(time=(0.0, 10.4273, 62.5641, 93.8461, 104.273),
                                          vacuum_thrust=(14410.8 * kN, 16342.1 * kN, 15153.6 * kN,
                                                         11885.2 * kN, 5199.77 * kN),
                                          vacuum_isp=291.658,
                                          sea_level_isp=249.073).scaled_to(527992.0)),
            ao.Stage(name="stage 2", propellant_mass=13041.7, dry_mass=1998.68,
                     engine=ao.Engine(vacuum_thrust=189.389 * kN, vacuum_isp=342.406,
                                      min_throttle=0.949252), restarts=1, ignition_delay=6.477),
        ),
        fairing=ao.Fairing(mass=78.7094),
        aerodynamics=ao.Aerodynamics(reference_area=15.8366, drag_coefficient=scaled_drag(1.31028),
                                     normal_force_slope=3.99515),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=60.0003 * deg),
        orbit=ao.CircularOrbit(altitude=409.466 * km),
        vertical_rise=166.689,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def an_ellipse_of_a_heavy_planet() -> Launch:
    """Three stages to 359 by 425 km, which take a coast of half a revolution."""
    vehicle = ao.Vehicle(
        name="Shrike", payload_mass=34333.6,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=408331.0, dry_mass=48037.7,
                     engine=ao.Engine(vacuum_thrust=14230.3 * kN, vacuum_isp=441.165,
                                      sea_level_isp=367.557)),
            ao.Stage(name="stage 2", propellant_mass=127044.0, dry_mass=25179.5,
                     engine=ao.Engine(vacuum_thrust=2208.69 * kN, vacuum_isp=458.761),
                     ignition_delay=4.49322),
            ao.Stage(name="stage 3", propellant_mass=37728.9, dry_mass=3227.82,
                     engine=ao.Engine(vacuum_thrust=273.701 * kN, vacuum_isp=361.538,
                                      min_throttle=0.663594), restarts=1, ignition_delay=2.17049),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=17.3313, drag_coefficient=0.441381),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.Body(name="Brunt", gravitational_parameter=482219000000000.0, radius=6648.04 * km,
                     rotation_rate=6.1313e-05,
                     atmosphere=ao.Atmosphere.exponential(surface_density=1.04843,
                                                          scale_height=7.57728 * km,
                                                          ceiling=110.0 * km,
                                                          surface_temperature=288.15), j2=0.0015),
        site=ao.LaunchSite(latitude=-20.2583 * deg),
        orbit=ao.EllipticalOrbit(periapsis_altitude=358.624 * km, apoapsis_altitude=425.259 * km,
                                 inclination=67.9379 * deg, argument_of_periapsis=94.1555 * deg),
        limits=ao.FlightLimits(dynamic_pressure=62.8821 * kPa,
                               staging_dynamic_pressure=5.40204 * kPa),
        vertical_rise=125.252,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)
