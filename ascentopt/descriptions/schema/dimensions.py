"""What each number of a description measures.

Which keys there are follows from the descriptions themselves; what a number measures does not, so
it is said here once. A test asks that nothing is missing.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from ascentopt.mission import (
    CircularOrbit,
    DeorbitReserve,
    EllipticalOrbit,
    FlightLimits,
    LaunchSite,
    Mission,
    PropellantReserve,
)
from ascentopt.rocket import (
    Aerodynamics,
    BoosterGroup,
    DragCurve,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
)
from ascentopt.world import Atmosphere, Body, SmoothTable, Wind

_PLANE = {"inclination": "rad", "ascending_node": "rad"}
_STACKED = {"propellant_mass": "kg", "dry_mass": "kg"}

DIMENSIONS: dict[Callable[..., Any], dict[str, str]] = {
    Vehicle: {"payload_mass": "kg"},
    Stage: {**_STACKED, "ignition_delay": "s"},
    BoosterGroup: {**_STACKED, "ignition_time": "s"},
    Engine: {
        "vacuum_thrust": "N",
        "vacuum_isp": "s",
        "sea_level_isp": "s",
        "sea_level_thrust": "N",
        "exit_area": "m^2",
        "min_throttle": "",
    },
    SolidMotor: {
        "time": "s",
        "vacuum_thrust": "N",
        "vacuum_isp": "s",
        "sea_level_isp": "s",
        "exit_area": "m^2",
    },
    Fairing: {"mass": "kg", "max_heating": "W/m^2"},
    Aerodynamics: {"reference_area": "m^2", "drag_coefficient": "", "normal_force_slope": "1/rad"},
    DragCurve: {"mach": "", "cd": ""},
    Mission: {"vertical_rise": "m", "lift_off_time": "s"},
    LaunchSite: {"latitude": "rad", "altitude": "m", "longitude": "rad"},
    CircularOrbit: {"altitude": "m", **_PLANE},
    EllipticalOrbit: {
        "semi_major_axis": "m",
        "eccentricity": "",
        "periapsis_altitude": "m",
        "apoapsis_altitude": "m",
        "argument_of_periapsis": "rad",
        **_PLANE,
    },
    FlightLimits: {
        "dynamic_pressure": "Pa",
        "staging_dynamic_pressure": "Pa",
        "angle_of_attack": "rad",
        "q_alpha": "Pa rad",
        "axial_acceleration": "m/s^2",
        "pitch_rate": "rad/s",
    },
    PropellantReserve: {"mass": "kg"},
    DeorbitReserve: {"periapsis_altitude": "m", "allowance": ""},
    Body: {
        "gravitational_parameter": "m^3/s^2",
        "radius": "m",
        "rotation_rate": "rad/s",
        "j2": "",
        "flattening": "",
    },
    Atmosphere: {"heat_capacity_ratio": "", "ceiling": "m"},
    Atmosphere.exponential: {
        "surface_density": "kg/m^3",
        "scale_height": "m",
        "ceiling": "m",
        "surface_gravity": "m/s^2",
        "surface_temperature": "K",
        "gas_constant": "J/(kg K)",
        "heat_capacity_ratio": "",
    },
    Atmosphere.tabulated: {
        "altitude": "m",
        "temperature": "K",
        "pressure": "Pa",
        "density": "kg/m^3",
        "ceiling": "m",
        "heat_capacity_ratio": "",
    },
    Atmosphere.sounding: {
        "altitude": "m",
        "pressure": "Pa",
        "temperature": "K",
        "wind_speed": "m/s",
        "wind_from": "rad",
        "ceiling": "m",
        "gas_constant": "J/(kg K)",
    },
    Atmosphere.with_temperature_offset: {"kelvins": "K"},
    Atmosphere.with_density_scaled: {"factor": ""},
    Wind: {"altitude": "m", "eastward": "m/s", "northward": "m/s"},
    # Of a logarithm, or of kelvins: always in SI, and without units.
    SmoothTable: {"knots": "", "values": "", "slopes": "", "curvatures": ""},
}
"""The unit of the SI of each number, and of each entry of a list of numbers, by what takes it."""
