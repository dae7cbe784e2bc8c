"""Launches whose best structure a first guess misses."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.units import deg, km, kN, kPa, tonne
from tests.optimal.launchers import Launch, due_east, scaled_drag


def from_the_moon_to_24_km() -> Launch:
    """One stage that can be lit again, to a circle that grazes the mountains."""
    vehicle = ao.Vehicle(
        name="Dipper", payload_mass=448.925,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=442.116, dry_mass=29.4511,
                     engine=ao.Engine(vacuum_thrust=2.72409 * kN, vacuum_isp=309.155,
                                      sea_level_isp=262.714), restarts=1),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=0.211279, drag_coefficient=scaled_drag(1.01051),
                                     normal_force_slope=3.35277),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.moon(),
        site=ao.LaunchSite(latitude=45.9604 * deg),
        orbit=ao.CircularOrbit(altitude=23.8496 * km),
        vertical_rise=245.575,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def through_the_heat_of_mars() -> Launch:
    """A fairing on two stages, to 461 km: the air of Mars is thin, and reaches high."""
    vehicle = ao.Vehicle(
        name="Avocet", payload_mass=2852.8,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=6440.66, dry_mass=517.317,
                     engine=ao.Engine(vacuum_thrust=78.8923 * kN, vacuum_isp=337.641,
                                      sea_level_isp=288.104, min_throttle=0.826594)),
            ao.Stage(name="stage 2", propellant_mass=3828.29, dry_mass=570.189,
                     engine=ao.Engine(vacuum_thrust=27.6955 * kN, vacuum_isp=341.057), restarts=1),
        ),
        fairing=ao.Fairing(mass=122.098),
        aerodynamics=ao.Aerodynamics(reference_area=1.31735, drag_coefficient=0.298394),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=17.925 * deg, altitude=564.457),
        orbit=ao.CircularOrbit(altitude=461.438 * km, inclination=37.0205 * deg),
        limits=ao.FlightLimits(dynamic_pressure=0.779091 * kPa),
        vertical_rise=61.3045,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def mars_by_a_solid_second_stage() -> Launch:
    """Four boosters, a solid motor between two liquid stages, and a fairing."""
    vehicle = ao.Vehicle(
        name="Bittern", payload_mass=5060.33,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=9215.81, dry_mass=936.482,
                     engine=ao.Engine(vacuum_thrust=84.2792 * kN, vacuum_isp=329.956,
                                      sea_level_isp=283.162)),
            ao.Stage(name="stage 2", propellant_mass=5696.19, dry_mass=502.006,
                     engine=ao.SolidMotor(time=(0.0, 15.3115, 91.8689, 137.803, 153.115),
                                          vacuum_thrust=(102.826 * kN, 116.607 * kN, 108.127 * kN,
                                                         84.8053 * kN, 37.1023 * kN),
                                          vacuum_isp=283.255).scaled_to(5696.19),
                     ignition_delay=7.77257),
            ao.Stage(name="stage 3", propellant_mass=3423.58, dry_mass=304.218,
                     engine=ao.Engine(vacuum_thrust=25.3586 * kN, vacuum_isp=323.526), restarts=1,
                     ignition_delay=3.18657),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=4, propellant_mass=1062.41, dry_mass=62.2275,
                            engine=ao.Engine(vacuum_thrust=29.7924 * kN, vacuum_isp=311.289,
                                             sea_level_isp=266.461)),
        ),
        fairing=ao.Fairing(mass=662.896),
        aerodynamics=ao.Aerodynamics(reference_area=1.94958, drag_coefficient=0.245812),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=-55.8089 * deg, altitude=1463.43),
        orbit=ao.CircularOrbit(altitude=323.892 * km, inclination=90 * deg),
        limits=ao.FlightLimits(dynamic_pressure=0.925721 * kPa),
        vertical_rise=129.085,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def staged_deep_in_the_air() -> Launch:
    """Three stages with a fairing due east to 114 km, the first two burned out early."""
    vehicle = ao.Vehicle(
        name="Pipit", payload_mass=509.708,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=6596.8, dry_mass=527.335,
                     engine=ao.Engine(vacuum_thrust=166.499 * kN, vacuum_isp=329.366,
                                      sea_level_isp=299.411, min_throttle=0.788314)),
            ao.Stage(name="stage 2", propellant_mass=2823.19, dry_mass=299.849,
                     engine=ao.Engine(vacuum_thrust=58.0479 * kN, vacuum_isp=359.138,
                                      sea_level_isp=224.543, min_throttle=0.715213)),
            ao.Stage(name="stage 3", propellant_mass=1117.83, dry_mass=153.896,
                     engine=ao.Engine(vacuum_thrust=20.3559 * kN, vacuum_isp=447.523), restarts=1),
        ),
        fairing=ao.Fairing(mass=39.9097),
        aerodynamics=ao.Aerodynamics(reference_area=1.17475,
                                     drag_coefficient=scaled_drag(0.835141)),
    )  # fmt: skip
    body, site = ao.earth(), ao.LaunchSite(latitude=2.66328 * deg, altitude=1369.13)
    mission = ao.Mission(
        body=body, site=site,
        orbit=ao.CircularOrbit(altitude=114.003 * km, inclination=due_east(body, site)),
        limits=ao.FlightLimits(dynamic_pressure=19.8047 * kPa, angle_of_attack=7.83186 * deg,
                               staging_dynamic_pressure=0.762704 * kPa),
        vertical_rise=235.716,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def by_a_long_last_burn() -> Launch:
    """A hydrogen stage of little thrust to 263 km: its burn lasts a quarter of an hour."""
    vehicle = ao.Vehicle(
        name="Gannet", payload_mass=16949.1,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=652292.0, dry_mass=42532.7,
                     engine=ao.Engine(vacuum_thrust=16925.8 * kN, vacuum_isp=333.189,
                                      sea_level_isp=281.552, min_throttle=0.727246)),
            ao.Stage(name="stage 2", propellant_mass=151484.0, dry_mass=27292.1,
                     engine=ao.Engine(vacuum_thrust=763.433 * kN, vacuum_isp=449.027), restarts=1),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=20.6672, drag_coefficient=scaled_drag(1.29405),
                                     normal_force_slope=3.34742),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-59.785 * deg),
        orbit=ao.CircularOrbit(altitude=262.693 * km, inclination=65.6511 * deg),
        limits=ao.FlightLimits(dynamic_pressure=87.6269 * kPa),
        vertical_rise=89.2026,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def far_above_a_single_burn() -> Launch:
    """Three boosters and a weak last stage, due east to 1056 km."""
    vehicle = ao.Vehicle(
        name="Lapwing", payload_mass=178.838,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=6930.34, dry_mass=735.38,
                     engine=ao.Engine(vacuum_thrust=128.139 * kN, vacuum_isp=371.272,
                                      sea_level_isp=316.325, min_throttle=0.708783)),
            ao.Stage(name="stage 2", propellant_mass=1998.25, dry_mass=369.9,
                     engine=ao.Engine(vacuum_thrust=7.58279 * kN, vacuum_isp=438.907,
                                      sea_level_isp=222.739, min_throttle=0.557733), restarts=1,
                     ignition_delay=5.67893),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=3, propellant_mass=1160.91, dry_mass=127.978,
                            engine=ao.Engine(vacuum_thrust=57.5743 * kN, vacuum_isp=312.271,
                                             sea_level_isp=271.452)),
        ),
        fairing=ao.Fairing(mass=16.8587),
        aerodynamics=ao.Aerodynamics(reference_area=1.05216, drag_coefficient=scaled_drag(0.926176),
                                     normal_force_slope=3.55184),
    )  # fmt: skip
    body, site = ao.earth(), ao.LaunchSite(latitude=-30.0505 * deg)
    mission = ao.Mission(
        body=body, site=site,
        orbit=ao.CircularOrbit(altitude=1055.97 * km, inclination=due_east(body, site)),
        limits=ao.FlightLimits(dynamic_pressure=99.3523 * kPa, angle_of_attack=10.4445 * deg),
        vertical_rise=None,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def mars_within_half_a_kilopascal() -> Launch:
    """Six solid boosters and a heavy fairing, to a polar circle of 819 km."""
    vehicle = ao.Vehicle(
        name="Curlew", payload_mass=29630.2,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=84370.8, dry_mass=5364.87,
                     engine=ao.Engine(vacuum_thrust=932.804 * kN, vacuum_isp=340.238,
                                      sea_level_isp=299.461, min_throttle=0.562778)),
            ao.Stage(name="stage 2", propellant_mass=43812.3, dry_mass=3679.43,
                     engine=ao.Engine(vacuum_thrust=290.767 * kN, vacuum_isp=346.918,
                                      sea_level_isp=267.192), restarts=1, ignition_delay=3.72323),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=6, propellant_mass=2476.35, dry_mass=309.044,
                            engine=ao.SolidMotor(time=(0.0, 9.82931, 58.9759, 88.4638, 98.2931),
                                                 vacuum_thrust=(67.7312 * kN, 76.8085 * kN,
                                                                71.2224 * kN, 55.8607 * kN,
                                                                24.4391 * kN), vacuum_isp=275.512,
                                                 sea_level_isp=236.683).scaled_to(2476.35)),
        ),
        fairing=ao.Fairing(mass=3831.84),
        aerodynamics=ao.Aerodynamics(reference_area=6.87039, drag_coefficient=scaled_drag(0.938676),
                                     normal_force_slope=3.53853),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=-23.4552 * deg, altitude=356.915),
        orbit=ao.CircularOrbit(altitude=819.214 * km, inclination=90 * deg),
        limits=ao.FlightLimits(dynamic_pressure=0.518212 * kPa),
        vertical_rise=163.544,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def hardly_above_the_air_of_mars() -> Launch:
    """Two stages to a retrograde circle of 137 km."""
    vehicle = ao.Vehicle(
        name="Siskin", payload_mass=641.541,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=1412.72, dry_mass=218.333,
                     engine=ao.Engine(vacuum_thrust=14.5782 * kN, vacuum_isp=449.836,
                                      sea_level_isp=389.318)),
            ao.Stage(name="stage 2", propellant_mass=511.765, dry_mass=43.1137,
                     engine=ao.Engine(vacuum_thrust=2.3679 * kN, vacuum_isp=359.328,
                                      min_throttle=0.821245), restarts=1, ignition_delay=1.45925),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=0.446454, drag_coefficient=0.553981),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=23.4625 * deg, altitude=574.644),
        orbit=ao.CircularOrbit(altitude=137.253 * km, inclination=145.403 * deg),
        vertical_rise=52.0676,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def a_placed_ellipse_of_the_moon() -> Launch:
    """Two stages due east to 1195 by 2804 km, with the periapsis placed."""
    vehicle = ao.Vehicle(
        name="Ptarmigan", payload_mass=41892.9,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=33407.4, dry_mass=2439.83,
                     engine=ao.Engine(vacuum_thrust=270.128 * kN, vacuum_isp=335.264,
                                      sea_level_isp=282.239)),
            ao.Stage(name="stage 2", propellant_mass=23470.3, dry_mass=3021.86,
                     engine=ao.Engine(vacuum_thrust=64.7939 * kN, vacuum_isp=345.475,
                                      sea_level_isp=246.382), restarts=1, ignition_delay=5.90577),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=4.94514, drag_coefficient=scaled_drag(1.39021),
                                     normal_force_slope=2.6186),
    )  # fmt: skip
    body, site = ao.moon(), ao.LaunchSite(latitude=-47.5179 * deg, altitude=1358.94)
    mission = ao.Mission(
        body=body, site=site,
        orbit=ao.EllipticalOrbit(periapsis_altitude=1194.87 * km, apoapsis_altitude=2804.23 * km,
                                 inclination=due_east(body, site),
                                 argument_of_periapsis=158.699 * deg),
        vertical_rise=30.776,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def three_stages_to_a_steep_plane() -> Launch:
    """A last stage that may be lit again, to 255 km at 85 deg."""
    vehicle = ao.Vehicle(
        name="Whimbrel", payload_mass=12631.4,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=279838.0, dry_mass=23011.9,
                     engine=ao.Engine(vacuum_thrust=8135.28 * kN, vacuum_isp=324.595,
                                      sea_level_isp=280.183)),
            ao.Stage(name="stage 2", propellant_mass=88557.1, dry_mass=9752.92,
                     engine=ao.Engine(vacuum_thrust=1429.1 * kN, vacuum_isp=347.791),
                     ignition_delay=2.01751),
            ao.Stage(name="stage 3", propellant_mass=34810.7, dry_mass=3666.96,
                     engine=ao.Engine(vacuum_thrust=482.437 * kN, vacuum_isp=348.03,
                                      min_throttle=0.882581), restarts=1),
        ),
        fairing=ao.Fairing(mass=2062.28),
        aerodynamics=ao.Aerodynamics(reference_area=13.1955, drag_coefficient=scaled_drag(1.13628)),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=36.5464 * deg),
        orbit=ao.CircularOrbit(altitude=254.555 * km, inclination=84.6306 * deg),
        limits=ao.FlightLimits(dynamic_pressure=124.212 * kPa,
                               staging_dynamic_pressure=5.32516 * kPa),
        vertical_rise=62.0075,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def a_second_stage_just_too_weak() -> Launch:
    """Four boosters and three stages to 111 km, of which two just do not suffice."""
    vehicle = ao.Vehicle(
        name="Redshank", payload_mass=1055.18,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=14218.3, dry_mass=1507.29,
                     engine=ao.Engine(vacuum_thrust=358.159 * kN, vacuum_isp=311.173,
                                      sea_level_isp=276.912, min_throttle=0.849903)),
            ao.Stage(name="stage 2", propellant_mass=4641.98, dry_mass=409.399,
                     engine=ao.Engine(vacuum_thrust=44.0442 * kN, vacuum_isp=334.346,
                                      min_throttle=0.638105), ignition_delay=4.07218),
            ao.Stage(name="stage 3", propellant_mass=1291.11, dry_mass=107.919,
                     engine=ao.Engine(vacuum_thrust=17.3643 * kN, vacuum_isp=322.579,
                                      sea_level_isp=116.678, min_throttle=0.583259),
                     ignition_delay=5.28321),
        ),
        boosters=(
            ao.BoosterGroup(name="boosters 1", count=4, propellant_mass=4520.94, dry_mass=542.714,
                            engine=ao.Engine(vacuum_thrust=150.137 * kN, vacuum_isp=318.937,
                                             sea_level_isp=269.729)),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=1.81785, drag_coefficient=0.497767,
                                     normal_force_slope=3.53735),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-1.82574 * deg),
        orbit=ao.CircularOrbit(altitude=111.155 * km),
        vertical_rise=32.5753,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def from_near_a_pole_of_the_moon() -> Launch:
    """A weak upper stage to 3000 km, from a degree beside the pole."""
    vehicle = ao.Vehicle(
        name="Firecrest", payload_mass=157.1,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=232.892, dry_mass=16.7361,
                     engine=ao.Engine(vacuum_thrust=2.88013 * kN, vacuum_isp=332.921,
                                      sea_level_isp=281.517, min_throttle=0.91524)),
            ao.Stage(name="stage 2", propellant_mass=54.4964, dry_mass=9.16103,
                     engine=ao.Engine(vacuum_thrust=0.100652 * kN, vacuum_isp=445.956,
                                      sea_level_isp=241.049, min_throttle=0.483189), restarts=2,
                     ignition_delay=1.72181),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=0.135045,
                                     drag_coefficient=scaled_drag(1.39112),
                                     normal_force_slope=2.40006),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.moon(),
        site=ao.LaunchSite(latitude=88.9182 * deg),
        orbit=ao.CircularOrbit(altitude=3000 * km, inclination=90.2524 * deg),
        vertical_rise=189.781,
    )
    return Launch(vehicle=vehicle, mission=mission)


def a_throttled_stage_to_a_placed_periapsis() -> Launch:
    """A fairing and two weak stages on a small planet with thin air, to 163 by 831 km."""
    vehicle = ao.Vehicle(
        name="Goldcrest", payload_mass=184.762,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=24.2156, dry_mass=2.7016,
                     engine=ao.Engine(vacuum_thrust=0.214009 * kN, vacuum_isp=441.613,
                                      sea_level_isp=375.902)),
            ao.Stage(name="stage 2", propellant_mass=17.4945, dry_mass=3.32228,
                     engine=ao.Engine(vacuum_thrust=0.0322934 * kN, vacuum_isp=450.293,
                                      sea_level_isp=308.459, min_throttle=0.516047), restarts=1,
                     ignition_delay=1.28496),
        ),
        fairing=ao.Fairing(mass=15.8893),
        aerodynamics=ao.Aerodynamics(reference_area=0.0882255, drag_coefficient=0.31779),
    )  # fmt: skip
    air = ao.Atmosphere.exponential(
        surface_density=0.0183172,
        scale_height=6.54135 * km,
        ceiling=83.0831 * km,
        surface_temperature=288.15,
    )
    body = ao.Body(
        name="Pumice", gravitational_parameter=1.99677e11, radius=752.038 * km,
        rotation_rate=6.48874e-5, atmosphere=air,
    )  # fmt: skip
    orbit = ao.EllipticalOrbit(
        semi_major_axis=1249.26 * km, eccentricity=0.267308, inclination=62.3057 * deg,
        argument_of_periapsis=-150.758 * deg,
    )  # fmt: skip
    site = ao.LaunchSite(latitude=-46.6249 * deg, altitude=643.686)
    mission = ao.Mission(body=body, site=site, orbit=orbit, vertical_rise=None)
    return Launch(vehicle=vehicle, mission=mission)


def four_stages_to_a_plane_below_the_latitude() -> Launch:
    """Four stages and a fairing to 3001 km at 10 deg, from a pad at 38 deg."""
    vehicle = ao.Vehicle(
        name="Hoopoe", payload_mass=357.617,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=26448.7, dry_mass=2069.0,
                     engine=ao.Engine(vacuum_thrust=758.802 * kN, vacuum_isp=338.844,
                                      sea_level_isp=306.317)),
            ao.Stage(name="stage 2", propellant_mass=7384.84, dry_mass=897.034,
                     engine=ao.Engine(vacuum_thrust=109.263 * kN, vacuum_isp=438.16,
                                      min_throttle=0.785461)),
            ao.Stage(name="stage 3", propellant_mass=2731.27, dry_mass=310.325,
                     engine=ao.Engine(vacuum_thrust=27.7184 * kN, vacuum_isp=455.519,
                                      sea_level_isp=256.489, min_throttle=0.88062),
                     ignition_delay=4.37597),
            ao.Stage(name="stage 4", propellant_mass=913.703, dry_mass=137.013,
                     engine=ao.Engine(vacuum_thrust=5.13634 * kN, vacuum_isp=464.76,
                                      sea_level_isp=363.308, min_throttle=0.810922), restarts=2),
        ),
        fairing=ao.Fairing(mass=48.8708),
        aerodynamics=ao.Aerodynamics(reference_area=2.66767, drag_coefficient=0.436136),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-37.5743 * deg),
        orbit=ao.CircularOrbit(altitude=3001.36 * km, inclination=10.378 * deg),
        vertical_rise=245.428,
    )
    return Launch(vehicle=vehicle, mission=mission)


def a_last_burn_of_a_second() -> Launch:
    """Two weak stages on a small planet without air, to an orbit of which the axis alone counts."""
    vehicle = ao.Vehicle(
        name="Wryneck", payload_mass=6469.35,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=918.961, dry_mass=69.9804,
                     engine=ao.Engine(vacuum_thrust=5.31576 * kN, vacuum_isp=349.691,
                                      sea_level_isp=308.865, min_throttle=0.782825)),
            ao.Stage(name="stage 2", propellant_mass=1023.91, dry_mass=113.28,
                     engine=ao.Engine(vacuum_thrust=3.70178 * kN, vacuum_isp=322.434), restarts=1,
                     ignition_delay=4.44962),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=0.936894, drag_coefficient=0.59411,
                                     normal_force_slope=2.06025),
    )  # fmt: skip
    body = ao.Body(
        name="Cobble", gravitational_parameter=4.1233e11, radius=999.146 * km,
        rotation_rate=5.0149e-5,
    )  # fmt: skip
    mission = ao.Mission(
        body=body,
        site=ao.LaunchSite(latitude=38 * deg, altitude=665.167),
        orbit=ao.EllipticalOrbit(semi_major_axis=1070.57 * km, inclination=106 * deg),
        vertical_rise=165.629,
    )
    return Launch(vehicle=vehicle, mission=mission)


def an_ellipse_far_round_from_the_pad() -> Launch:
    """A fairing, limits on dynamic pressure and acceleration, and a relight to spare."""
    vehicle = ao.Vehicle(
        name="Whimbrel", payload_mass=2.2 * tonne,
        stages=(
            ao.Stage(name="core", propellant_mass=96 * tonne, dry_mass=7.4 * tonne,
                     engine=ao.Engine(vacuum_thrust=1750 * kN, vacuum_isp=309.0,
                                      sea_level_isp=280.0)),
            ao.Stage(name="upper", propellant_mass=21 * tonne, dry_mass=1.9 * tonne, restarts=2,
                     ignition_delay=3.0,
                     engine=ao.Engine(vacuum_thrust=190 * kN, vacuum_isp=345.0)),
        ),
        fairing=ao.Fairing(mass=0.9 * tonne),
        aerodynamics=ao.Aerodynamics(reference_area=6.5, drag_coefficient=0.38),
    )  # fmt: skip
    body = ao.earth()
    axis = (body.radius + 350 * km) / (1.0 - 0.08)
    mission = ao.Mission(
        body=body,
        site=ao.LaunchSite(latitude=18 * deg, altitude=40.0),
        orbit=ao.EllipticalOrbit(
            semi_major_axis=axis, eccentricity=0.08, inclination=40 * deg,
            argument_of_periapsis=200 * deg,
        ),
        limits=ao.FlightLimits(dynamic_pressure=32 * kPa, axial_acceleration=5.5 * 9.80665),
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


def a_polar_ellipse_of_mars() -> Launch:
    """Met at its near end heading one way, at its far end the other: so many kilograms apart.

    Where the fairing goes is another choice, and the best heading of each is not the same.
    """
    vehicle = ao.Vehicle(
        name="Whimbrel",
        payload_mass=182.62,
        stages=(
            ao.Stage(
                name="first", propellant_mass=9023.3, dry_mass=1230.4,
                engine=ao.Engine(vacuum_thrust=156.67 * kN, vacuum_isp=312.0),
            ),
            ao.Stage(
                name="second", propellant_mass=3710.6, dry_mass=654.8, restarts=1,
                engine=ao.Engine(vacuum_thrust=7.21 * kN, vacuum_isp=333.0),
            ),
        ),
        fairing=ao.Fairing(mass=40.0),
        aerodynamics=ao.Aerodynamics(reference_area=2.2, drag_coefficient=0.3),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=41.65 * deg),
        orbit=ao.EllipticalOrbit(
            periapsis_altitude=357.85 * km, apoapsis_altitude=2960.6 * km, inclination=90.0 * deg
        ),
        limits=ao.FlightLimits(q_alpha=2618.0),
        vertical_rise=100.0,
    )
    return Launch(vehicle=vehicle, mission=mission)


def a_solid_second_stage_through_dense_air() -> Launch:
    """To a circle just above the air: by half a revolution, or up to it by a coast of 15 min."""
    vehicle = ao.Vehicle(
        name="Dabchick", payload_mass=514.185,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=33462.0, dry_mass=2430.26,
                     engine=ao.Engine(vacuum_thrust=859.407 * kN, vacuum_isp=338.065,
                                      sea_level_isp=325.446)),
            ao.Stage(name="stage 2", propellant_mass=7272.8, dry_mass=1101.65,
                     engine=ao.SolidMotor(time=(0.0, 11.6454, 69.8723, 104.808, 116.454),
                                          vacuum_thrust=(177.924 * kN, 201.77 * kN, 187.096 * kN,
                                                         146.742 * kN, 64.1996 * kN),
                                          vacuum_isp=291.963).scaled_to(7272.8),
                     ignition_delay=3.44905),
            ao.Stage(name="stage 3", propellant_mass=1404.34, dry_mass=125.615,
                     engine=ao.Engine(vacuum_thrust=26.5778 * kN, vacuum_isp=341.212,
                                      sea_level_isp=264.637), restarts=1),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=2.87938, drag_coefficient=scaled_drag(0.816045),
                                     normal_force_slope=3.79527),
    )  # fmt: skip
    air = ao.Atmosphere.exponential(
        surface_density=1.53147, scale_height=7.2745 * km, ceiling=110 * km,
        surface_temperature=288.15,
    )  # fmt: skip
    body = ao.Body(
        name="Brunt", gravitational_parameter=5.1494e14, radius=6670.43 * km,
        rotation_rate=6.99588e-5, atmosphere=air, j2=0.0015,
    )  # fmt: skip
    mission = ao.Mission(
        body=body,
        site=ao.LaunchSite(latitude=-43.1324 * deg),
        orbit=ao.CircularOrbit(altitude=122.301 * km),
        limits=ao.FlightLimits(dynamic_pressure=96.7692 * kPa, q_alpha=2617.99),
        vertical_rise=210.111,
    )
    return Launch(vehicle=vehicle, mission=mission)
