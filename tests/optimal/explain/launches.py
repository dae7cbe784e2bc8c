"""Launches that are refused."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import deg, g0, km, kN, kPa
from tests.optimal.launchers import Launch, scaled_drag


def a_solid_that_cannot_slow_down() -> Launch:
    """A solid first stage that passes 30 kPa however it is steered."""
    vehicle = ao.Vehicle(
        name="Twite", payload_mass=149.576,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=16423.8, dry_mass=1587.55,
                     engine=ao.SolidMotor(time=(0.0, 51.4228, 85.7047, 137.127, 171.409),
                                          vacuum_thrust=(312.182 * kN, 325.755 * kN, 230.743 * kN,
                                                         257.89 * kN, 162.878 * kN),
                                          vacuum_isp=286.873,
                                          sea_level_isp=244.485).scaled_to(16423.8)),
            ao.Stage(name="stage 2", propellant_mass=1812.53, dry_mass=277.896,
                     engine=ao.Engine(vacuum_thrust=12.9574 * kN, vacuum_isp=437.49,
                                      min_throttle=0.776103), restarts=1),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=1.65887,
                                     drag_coefficient=scaled_drag(0.861678)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-19.7377 * deg),
        orbit=ao.CircularOrbit(altitude=754.588 * km, inclination=120.856 * deg),
        limits=ao.FlightLimits(dynamic_pressure=29.7409 * kPa),
        vertical_rise=117.685,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def never_out_of_the_heat() -> Launch:
    """Too little for the orbit, and for the height where the fairing may go."""
    vehicle = ao.Vehicle(
        name="Snipe", payload_mass=140.731,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=102.282, dry_mass=10.6959,
                     engine=ao.Engine(vacuum_thrust=2.82197 * kN, vacuum_isp=331.946,
                                      sea_level_isp=284.54, min_throttle=0.706994)),
            ao.Stage(name="stage 2", propellant_mass=101.146, dry_mass=10.0801,
                     engine=ao.Engine(vacuum_thrust=0.83972 * kN, vacuum_isp=357.157,
                                      min_throttle=0.912424), ignition_delay=6.55308),
            ao.Stage(name="stage 3", propellant_mass=63.3058, dry_mass=5.65607,
                     engine=ao.Engine(vacuum_thrust=0.784464 * kN, vacuum_isp=331.847,
                                      sea_level_isp=172.893, min_throttle=0.647949),
                     ignition_delay=1.93712),
        ),
        fairing=ao.Fairing(mass=24.5317),
        aerodynamics=ao.Aerodynamics(reference_area=0.132747,
                                     drag_coefficient=scaled_drag(1.17833)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.Body(name="Calyx", gravitational_parameter=20923700000000.0, radius=2377.16 * km,
                     rotation_rate=5.50656e-05,
                     atmosphere=ao.Atmosphere.exponential(surface_density=2.63664,
                                                          scale_height=3.87688 * km,
                                                          ceiling=62.0301 * km,
                                                          surface_temperature=240.0,
                                                          gas_constant=190.0,
                                                          heat_capacity_ratio=1.3)),
        site=ao.LaunchSite(latitude=0.0 * deg),
        orbit=ao.CircularOrbit(altitude=251.054 * km, inclination=153.876 * deg),
        limits=ao.FlightLimits(dynamic_pressure=13.449 * kPa),
        vertical_rise=32.418,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def short_of_a_high_ellipse() -> Launch:
    """Three stages that want for a little to reach 698 by 758 km."""
    vehicle = ao.Vehicle(
        name="Gadwall", payload_mass=17695.9,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=225393.0, dry_mass=22872.8,
                     engine=ao.Engine(vacuum_thrust=8357.0 * kN, vacuum_isp=308.213,
                                      sea_level_isp=265.046)),
            ao.Stage(name="stage 2", propellant_mass=97117.0, dry_mass=15840.9,
                     engine=ao.Engine(vacuum_thrust=1730.4 * kN, vacuum_isp=437.875),
                     ignition_delay=3.26558),
            ao.Stage(name="stage 3", propellant_mass=35363.2, dry_mass=2979.05,
                     engine=ao.Engine(vacuum_thrust=285.781 * kN, vacuum_isp=311.935,
                                      sea_level_isp=123.481, min_throttle=0.525006), restarts=1,
                     ignition_delay=3.17431),
        ),
        fairing=ao.Fairing(mass=3050.25),
        aerodynamics=ao.Aerodynamics(reference_area=12.5283,
                                     drag_coefficient=scaled_drag(0.950799)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-37.358 * deg, altitude=854.531),
        orbit=ao.EllipticalOrbit(periapsis_altitude=697.693 * km, apoapsis_altitude=757.797 * km),
        limits=ao.FlightLimits(dynamic_pressure=72.8646 * kPa),
        vertical_rise=210.481,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def boosters_in_turn() -> Launch:
    """Four boosters that are lit as two others burn out, all too strong for 90 kPa."""
    vehicle = ao.Vehicle(
        name="Bunting", payload_mass=67.5617,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=1078.69, dry_mass=114.22,
                     engine=ao.SolidMotor(time=(0.0, 45.1267, 90.2534),
                                          vacuum_thrust=(30.0297 * kN, 35.0346 * kN, 33.3663 * kN),
                                          vacuum_isp=287.406,
                                          sea_level_isp=263.778).scaled_to(1078.69)),
            ao.Stage(name="stage 2", propellant_mass=376.632, dry_mass=41.4636,
                     engine=ao.Engine(vacuum_thrust=5.05693 * kN, vacuum_isp=343.615),
                     ignition_delay=3.29473),
            ao.Stage(name="stage 3", propellant_mass=181.036, dry_mass=23.1406,
                     engine=ao.Engine(vacuum_thrust=1.26022 * kN, vacuum_isp=318.858)),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=2, propellant_mass=109.072, dry_mass=9.71058,
                            engine=ao.SolidMotor(time=(0.0, 2.82701, 16.9621, 25.4431, 28.2701),
                                                 vacuum_thrust=(10.8822 * kN, 12.3407 * kN,
                                                                11.4432 * kN, 8.97504 * kN,
                                                                3.92658 * kN), vacuum_isp=289.049,
                                                 sea_level_isp=246.991).scaled_to(109.072)),
            ao.BoosterGroup(name="boosters 2", count=4, propellant_mass=185.453, dry_mass=13.9716,
                            engine=ao.Engine(vacuum_thrust=17.158 * kN, vacuum_isp=302.266,
                                             sea_level_isp=258.889), ignition_time=28.2701),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=0.340438, drag_coefficient=0.343077,
                                     normal_force_slope=1.52019),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=33.409 * deg),
        orbit=ao.CircularOrbit(altitude=1187.74 * km),
        limits=ao.FlightLimits(dynamic_pressure=90 * kPa),
        vertical_rise=None,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def fixed_thrust_under_limits_on_all_loads() -> Launch:
    """Four stages to 789 km, of which the first can only be shut down before it pushes too hard."""
    vehicle = ao.Vehicle(
        name="Nightjar", payload_mass=3891.51,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=104190.0, dry_mass=11679.2,
                     engine=ao.Engine(vacuum_thrust=2870.51 * kN, vacuum_isp=434.515,
                                      sea_level_isp=360.768), restarts=1),
            ao.Stage(name="stage 2", propellant_mass=20038.0, dry_mass=2414.6,
                     engine=ao.SolidMotor(time=(0.0, 40.5822, 81.1645),
                                          vacuum_thrust=(600.113 * kN, 700.131 * kN, 666.792 * kN),
                                          vacuum_isp=278.05,
                                          sea_level_isp=157.623).scaled_to(20038.0),
                     ignition_delay=7.97006),
            ao.Stage(name="stage 3", propellant_mass=9702.35, dry_mass=983.251,
                     engine=ao.Engine(vacuum_thrust=91.6154 * kN, vacuum_isp=351.985,
                                      sea_level_isp=174.038), ignition_delay=1.90258),
            ao.Stage(name="stage 4", propellant_mass=1626.29, dry_mass=114.386,
                     engine=ao.Engine(vacuum_thrust=21.5806 * kN, vacuum_isp=348.14,
                                      min_throttle=0.483849)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=6.43267, drag_coefficient=scaled_drag(1.06727),
                                     normal_force_slope=2.73797),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-45.1754 * deg, altitude=504.565),
        orbit=ao.CircularOrbit(altitude=788.838 * km),
        limits=ao.FlightLimits(dynamic_pressure=67.2615 * kPa, axial_acceleration=37.7031),
        vertical_rise=53.3228,
    )
    return Launch(vehicle=vehicle, mission=mission)


def throttled_on_the_way_to_a_far_circle() -> Launch:
    """Three stages and a fairing to 23082 km, the last of which throttles under a limit."""
    vehicle = ao.Vehicle(
        name="Phalarope", payload_mass=19067.0,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=1221420.0, dry_mass=146993.0,
                     engine=ao.Engine(vacuum_thrust=29098.7 * kN, vacuum_isp=351.474,
                                      sea_level_isp=300.782), restarts=1),
            ao.Stage(name="stage 2", propellant_mass=158956.0, dry_mass=25106.7,
                     engine=ao.Engine(vacuum_thrust=1527.62 * kN, vacuum_isp=465.0),
                     ignition_delay=6.24541),
            ao.Stage(name="stage 3", propellant_mass=47695.6, dry_mass=4743.59,
                     engine=ao.Engine(vacuum_thrust=536.225 * kN, vacuum_isp=326.052,
                                      min_throttle=0.62624), restarts=3, ignition_delay=1.34702),
        ),
        fairing=ao.Fairing(mass=783.215),
        aerodynamics=ao.Aerodynamics(reference_area=30.8582, drag_coefficient=scaled_drag(1.19635),
                                     normal_force_slope=2.40085),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=13.2271 * deg),
        orbit=ao.CircularOrbit(altitude=23082.5 * km, inclination=104.141 * deg),
        limits=ao.FlightLimits(axial_acceleration=45.7406),
        vertical_rise=141.818,
    )
    return Launch(vehicle=vehicle, mission=mission)


def of_fixed_thrust(*, apoapsis: float, payload: float = 4000.0, limit: float = 5.0) -> Launch:
    """No engine throttles, within a limit in g: each stage stops with propellant left."""
    vehicle = ao.Vehicle(
        name="Godwit", payload_mass=payload,
        stages=(
            ao.Stage(name="a", propellant_mass=270000.0, dry_mass=19000.0,
                     engine=ao.Engine(vacuum_thrust=5200 * kN, vacuum_isp=312.0,
                                      sea_level_isp=283.0)),
            ao.Stage(name="b", propellant_mass=60000.0, dry_mass=4200.0, restarts=1,
                     ignition_delay=4.0,
                     engine=ao.Engine(vacuum_thrust=600 * kN, vacuum_isp=348.0)),
        ),
        fairing=ao.Fairing(mass=1500.0),
        aerodynamics=ao.Aerodynamics(reference_area=11.0, drag_coefficient=0.4),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=5.0 * deg),
        orbit=ao.EllipticalOrbit(periapsis_altitude=250 * km, apoapsis_altitude=apoapsis,
                                 inclination=6.0 * deg, argument_of_periapsis=180.0 * deg),
        limits=ao.FlightLimits(axial_acceleration=limit * g0, dynamic_pressure=40 * kPa),
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)
