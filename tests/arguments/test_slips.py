"""Values that only a slip makes are refused or warned of, the slip named; what flies is neither."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import replace
from time import process_time
from typing import Any

import pytest

import ascentopt as ao
from ascentopt.units import deg, g0, km, kN, kPa

ENGINE = ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=310.0)
STAGE = ao.Stage(name="first", propellant_mass=62e3, dry_mass=4.4e3, engine=ENGINE)
AIR = ao.Atmosphere.exponential(surface_density=1.2, scale_height=8 * km, ceiling=100 * km)
GLOBE = ao.Body(
    name="Globe", gravitational_parameter=4e14, radius=6.4e6, rotation_rate=7e-5, atmosphere=AIR
)
MISSION = ao.Mission(
    body=GLOBE, site=ao.LaunchSite(latitude=0.0), orbit=ao.CircularOrbit(altitude=300 * km)
)
MOON = replace(MISSION, body=ao.moon())
ALTITUDE = (0.0, 10e3, 20e3, 50e3, 80e3, 100e3, 150e3, 300e3, 700e3)
STANDARD = ao.Atmosphere.standard_1976()
DENSITY = tuple(float(STANDARD.density(height)) for height in ALTITUDE)


def vehicle(area: float) -> ao.Vehicle:
    aerodynamics = ao.Aerodynamics(reference_area=area, drag_coefficient=0.3)
    return ao.Vehicle(name="Wren", payload_mass=900.0, stages=[STAGE], aerodynamics=aerodynamics)


def limits(**given: float) -> ao.FlightLimits:
    return ao.FlightLimits(**given)


Make = Callable[[], Any]
REFUSED: dict[str, tuple[Make, str]] = {
    "isp in m/s": (lambda: replace(ENGINE, vacuum_isp=3040.0), "3040 m/s is 310.0 s"),
    "isp of a motor in m/s": (
        lambda: ao.SolidMotor(time=[0, 9], vacuum_thrust=[9e4, 9e4], vacuum_isp=2800.0),
        "2800 m/s is 285.5 s",
    ),
    "sea-level isp in m/s": (lambda: replace(ENGINE, sea_level_isp=2800.0), "285.5 s"),
    "sea-level isp above": (lambda: replace(ENGINE, sea_level_isp=320.0), "at most vacuum_isp"),
    "throttle in per cent": (lambda: replace(ENGINE, min_throttle=40.0), "write 0.4"),
    "masses in tonnes": (
        lambda: replace(STAGE, propellant_mass=62.0, dry_mass=4.4),
        r"write 62 \* tonne and 4.4 \* tonne",
    ),
    "dry mass in tonnes": (lambda: replace(STAGE, dry_mass=4.4), r"write 4.4 \* tonne"),
    "thrust curve in kN": (
        lambda: replace(
            STAGE,
            engine=ao.SolidMotor(time=[0, 90], vacuum_thrust=[1e3, 3e3], vacuum_isp=280.0),
        ),
        "thrusts look like kN",
    ),
    "no area": (lambda: vehicle(0.0), "must be positive"),
    "area in cm^2": (lambda: vehicle(7.6e4), r"write 76000 \* cm\*\*2"),
    "radius in km": (lambda: replace(GLOBE, radius=6400.0), r"6400 \* km"),
    "radius of 320 m": (lambda: replace(GLOBE, radius=320.0), r"320 \* km"),
    "mu in km^3/s^2": (lambda: replace(GLOBE, gravitational_parameter=4e5), r"400000 \* km\*\*3"),
    "spin in deg/s": (lambda: replace(GLOBE, rotation_rate=0.0042), r"write 0.0042 \* deg"),
    "day for a spin": (lambda: replace(GLOBE, rotation_rate=86164.0), r"2 \* pi / 86164"),
    "inverse flattening": (lambda: replace(GLOBE, flattening=298.0), "write 1 / 298"),
    "j2 in millionths": (lambda: replace(GLOBE, j2=1082.6), "write 1082.6e-6"),
    "scale height in km": (lambda: with_air(scale_height=7.0), r"write 7 \* km"),
    "ceiling in km": (lambda: with_air(ceiling=100.0), r"write 100 \* km"),
    "altitudes of a table in km": (lambda: replace(GLOBE, atmosphere=table_in_km()), "km"),
    "latitude in degrees": (lambda: ao.LaunchSite(latitude=-12.0), r"write -12 \* deg"),
    "longitude in degrees": (lambda: replace(MISSION.site, longitude=77.0), r"write 77 \* deg"),
    "inclination in degrees": (
        lambda: ao.CircularOrbit(altitude=3e5, inclination=51.6),
        r"write 51.6 \* deg",
    ),
    "node in degrees": (
        lambda: ao.CircularOrbit(altitude=3e5, inclination=1.0, ascending_node=269.8),
        r"write 269.8 \* deg",
    ),
    "angle of attack in degrees": (lambda: limits(angle_of_attack=6.0), r"write 6 \* deg"),
    "acceleration in g": (
        lambda: replace(MISSION, limits=limits(axial_acceleration=4.5)),
        r"write 4.5 \* g0",
    ),
    "dynamic pressure in kPa": (
        lambda: replace(MISSION, limits=limits(dynamic_pressure=40.0)),
        r"write 40 \* kPa",
    ),
    "altitude in km": (
        lambda: replace(MISSION, orbit=ao.CircularOrbit(altitude=300.0)),
        r"300 \* km",
    ),
    "pressure that rises": (
        lambda: table(pressure=(2, 9e4)),
        r"pressure\[2\] is 90000.0 Pa.*at most .*level below",
    ),
    "pitch in degrees": (lambda: pitch_table(90.0, 45.0), r"rows\[0\]\[1\].*write 90 \* deg"),
    "pitch that falls to degrees": (lambda: pitch_table(1.5, 45.0), r"rows\[1\]\[1\].*45 \* deg"),
    "altitude for an apoapsis": (
        lambda: flown_to(ao.AtApoapsisRadius(450e3)),
        r"AtApoapsisRadius: radius is 450000.0 m.*radius of Globe is 6400000 m.*an altitude",
    ),
    "altitude for a periapsis": (
        lambda: flown_to(ao.AtPeriapsisRadius(60e3)),
        r"AtPeriapsisRadius: radius is 60000.0 m.*radius of Globe is 6400000 m.*an altitude",
    ),
    "kick in degrees": (
        lambda: ao.Kick(at=ao.AtAirSpeed(60.0), angle=2.0),
        r"write 2 \* deg",
    ),
    "throttle of a law in per cent": (
        lambda: ao.GravityTurn(plan=ao.FlightPlan(inserting_stage=0), kick=None, throttle=80.0),
        "write 0.8",
    ),
}

WARNED: dict[str, tuple[Make, str]] = {
    "allowance in per cent": (
        lambda: ao.DeorbitReserve(periapsis_altitude=5e4, allowance=5.0),
        "write 0.05",
    ),
    "thrust in kN": (
        lambda: replace(STAGE, engine=replace(ENGINE, vacuum_thrust=1150.0)),
        r"write 1150 \* kN",
    ),
    "isp of a reactor": (lambda: replace(ENGINE, vacuum_isp=850.0), "850 m/s is 86.7 s"),
    "isp in km/s": (lambda: replace(ENGINE, vacuum_isp=3.04), "3.04 km/s is 310.0 s"),
    "propellant in tonnes": (lambda: replace(STAGE, propellant_mass=62.0), r"write 62 \* tonne"),
    "drag in per cent": (
        lambda: ao.Aerodynamics(reference_area=2.0, drag_coefficient=35.0),
        "write 0.35",
    ),
    "drag curve in per cent": (lambda: ao.DragCurve(mach=[0, 2], cd=[35, 60]), "write 0.6"),
    "heating in kW": (lambda: ao.Fairing(mass=9.0, max_heating=1.135), r"write 1.135 \* kW"),
    "angle of attack of 3 degrees": (lambda: limits(angle_of_attack=3.0), r"write 3 \* deg"),
    "pitch rate in degrees": (lambda: limits(pitch_rate=2.0), r"write 2 \* deg"),
    "q alpha in Pa deg": (lambda: limits(q_alpha=150e3), r"write 150000 \* deg"),
    "q alpha in kPa rad": (lambda: limits(q_alpha=2.6), r"kPa \* deg"),
    "altitude of a lunar orbit in km": (
        lambda: replace(MOON, orbit=ao.CircularOrbit(altitude=300.0)),
        r"write 300 \* km",
    ),
    "altitude in mm": (lambda: replace(MOON, orbit=ao.CircularOrbit(altitude=3e9)), "once"),
    "payload in tonnes": (lambda: replace(vehicle(7.0), payload_mass=1.2), r"write 1.2 \* tonne"),
    "rise in km": (lambda: replace(MISSION, vertical_rise=0.1), r"write 0.1 \* km"),
    "wind in km": (
        lambda: ao.Wind(altitude=[0, 20], eastward=[5, 9], northward=[0, 0]),
        r"write 20 \* km",
    ),
    "density in g/m^3": (lambda: with_air(surface_density=1225.0), "write 1.225"),
    "temperature in Celsius": (lambda: with_air(surface_temperature=15.0), "kelvins"),
    "density of a level ten times": (
        lambda: table(density=(2, 10 * DENSITY[2])),
        r"altitude\[2\] \(20000 m\).*density\[2\] would be 0.0889 kg/m\^3",
    ),
    "temperature of a level in Celsius": (lambda: table(temperature=(3, 6.0)), r"altitude\[3\]"),
    "a level of thin air": (lambda: table(pressure=(5, 3e-3)), r"altitude\[5\] \(100000 m\)"),
    "altitudes of a table in feet": (
        lambda: replace(GLOBE, atmosphere=table(altitude=1.0 / 0.3048)),
        "fall of pressure from 0 to 32808.4 m.*Altitudes are in metres",
    ),
    "gravity that a table is not of": (
        lambda: ao.Body(name="Pip", gravitational_parameter=3.0 * 3e6**2, radius=3e6,
                        rotation_rate=0.0, atmosphere=table()),
        r"the gravity, 3 m/s\^2",
    ),
    "too low a ceiling": (lambda: with_air(ceiling=20e3), "densities or altitudes of the air"),
    "mass and radius in km": (
        lambda: ao.Body(name="Pip", gravitational_parameter=21e3, radius=1650.0,
                        rotation_rate=0.0),
        r"write 1650 \* km and 21000 \* km\*\*3",
    ),
    "rise of km": (lambda: replace(MISSION, vertical_rise=40 * km), "write 40"),
    "rise of km without air": (lambda: replace(MOON, vertical_rise=40 * km), "write 40"),
    "delay of an hour": (lambda: replace(STAGE, ignition_delay=3600.0), r"ms: write 3.6"),
    "solid motor in ms": (
        lambda: ao.SolidMotor(time=[0, 9e4], vacuum_thrust=[9e4, 9e4], vacuum_isp=280.0),
        "ms: write times over 1000, to 90",
    ),
    "fairing in tonnes": (
        lambda: replace(vehicle(7.0), fairing=ao.Fairing(mass=0.2)), r"write 0.2 \* tonne",
    ),
    "fairing in grams": (
        lambda: replace(vehicle(7.0), fairing=ao.Fairing(mass=320e3)), "grams: write 320",
    ),
    "wind in km/h": (
        lambda: replace(GLOBE, atmosphere=AIR.with_wind(wind(400.0))), r"write 400 / 3.6",
    ),
    "temperature for an offset": (
        lambda: ao.Atmosphere.standard_1976().with_temperature_offset(288.0), "a temperature",
    ),
    "q alpha in kPa deg": (lambda: limits(q_alpha=150.0), r"write 150 \* kPa \* deg"),
}  # fmt: skip


def table(altitude: float = 1.0, **changed: tuple[int, float]) -> ao.Atmosphere:
    """The standard atmosphere at some levels of a stretched altitude, a value of a column changed.

    Its thermosphere parts: 2.5 times the gas constant of the ground at the highest level.
    """
    assert STANDARD.temperature is not None
    columns = {
        "temperature": [float(STANDARD.temperature(height)) for height in ALTITUDE],
        "pressure": [float(STANDARD.pressure(height)) for height in ALTITUDE],
        "density": list(DENSITY),
    }
    for name, (index, value) in changed.items():
        columns[name][index] = value
    heights = [altitude * height for height in ALTITUDE]
    return ao.Atmosphere.tabulated(
        altitude=heights, temperature=columns["temperature"], pressure=columns["pressure"],
        density=columns["density"], ceiling=altitude * 1e5,
    )  # fmt: skip


def wind(fastest: float) -> ao.Wind:
    return ao.Wind(altitude=[0, 12e3, 30e3], eastward=[5, fastest, 9], northward=[0, 0, 0])


def pitch_table(*pitches: float) -> ao.PitchTable:
    rows = tuple((20.0 * index, pitch) for index, pitch in enumerate(pitches))
    return ao.PitchTable(plan=ao.FlightPlan(inserting_stage=0), against=ao.Against.TIME, rows=rows)


def flown_to(end: ao.Ending) -> ao.Flight:
    law = replace(pitch_table(1.571, 0.5), endings=(("first", end),))
    return ao.fly(vehicle(7.0), MISSION, law)


def with_air(**changes: float) -> ao.Body:
    given = {"surface_density": 1.2, "scale_height": 8e3, "ceiling": 1e5, **changes}
    return replace(GLOBE, atmosphere=ao.Atmosphere.exponential(**given))


def table_in_km() -> ao.Atmosphere:
    return ao.Atmosphere.tabulated(
        altitude=[0, 10, 20, 50], temperature=[288, 223, 217, 270],
        pressure=[101e3, 26e3, 5.5e3, 80], density=[1.2, 0.41, 0.088, 1e-3], ceiling=100.0,
    )  # fmt: skip


@pytest.mark.parametrize("name", REFUSED)
def test_what_cannot_be_is_refused_at_once_with_the_slip(name: str) -> None:
    make, slip = REFUSED[name]
    begun = process_time()
    with pytest.raises(ao.InputError, match=slip):
        make()
    assert process_time() - begun < 0.5


@pytest.mark.parametrize("name", WARNED)
def test_what_is_odd_is_warned_of_where_it_is_written(name: str) -> None:
    make, slip = WARNED[name]
    with pytest.warns(ao.UnusualInputWarning, match=slip) as told:
        make()
    assert [one.filename for one in told] == [__file__]


def test_what_flies_is_neither_refused_nor_warned_of() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        assert len(ao.scenarios()) > 10
        vehicle(0.5)  # as slender as they come
        replace(vehicle(7.0), payload_mass=0.0)  # a test flight
        replace(MISSION, limits=limits(dynamic_pressure=20 * kPa, axial_acceleration=3 * g0))
        limits(angle_of_attack=20 * deg, pitch_rate=5 * deg, q_alpha=20 * kPa * deg)
        replace(GLOBE, atmosphere=table().with_wind(wind(120.0)))  # with all of its thermosphere
        pitch_table(90 * deg, 1.571, -90 * deg)
        STANDARD.with_temperature_offset(-40.0)
        replace(vehicle(7.0), fairing=ao.Fairing(mass=70.0))
        replace(STAGE, ignition_delay=600.0)


def test_a_model_and_a_pebble_may_be() -> None:
    """Half a kilogram, and a planet of ten kilometres."""
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        engine = ao.Engine(vacuum_thrust=30.0, vacuum_isp=90.0)
        stage = ao.Stage(name="s", propellant_mass=0.3, dry_mass=0.1, engine=engine)
        ao.Vehicle(
            name="Model", payload_mass=0.1, stages=[stage],
            aerodynamics=ao.Aerodynamics(reference_area=0.002, drag_coefficient=0.5),
        )  # fmt: skip
        air = ao.Atmosphere.exponential(surface_density=1.0, scale_height=600.0, ceiling=6e3)
        ao.Body(
            name="Grain", gravitational_parameter=9.0 * 1e4**2, radius=1e4, rotation_rate=1e-3,
            atmosphere=air,
        )  # fmt: skip


def test_a_description_that_the_library_changes_is_not_warned_of_again() -> None:
    with pytest.warns(ao.UnusualInputWarning) as told:
        odd = ao.Vehicle(
            name="x", payload_mass=9.0, stages=[STAGE],
            aerodynamics=ao.Aerodynamics(reference_area=3e3, drag_coefficient=0.3),
        )  # fmt: skip
    assert len(told) == 1
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        odd.with_ballast(1.0)
    with pytest.warns(ao.UnusualInputWarning):
        replace(odd, payload_mass=8.0)


def test_a_launcher_whose_thrust_is_in_kilonewtons_is_refused_at_once() -> None:
    with pytest.warns(ao.UnusualInputWarning, match="kN"):
        weak = replace(STAGE, engine=replace(ENGINE, vacuum_thrust=1150.0))
    begun = process_time()
    with pytest.raises(ao.InputError, match=r"must exceed the weight.*looks like kN"):
        ao.optimize(ao.Vehicle(name="Wren", payload_mass=900.0, stages=[weak]), MISSION)
    assert process_time() - begun < 1.0


def test_a_thought_experiment_is_warned_of_only() -> None:
    with pytest.warns(ao.UnusualInputWarning):
        replace(ENGINE, vacuum_isp=1e13)
