"""Vehicles and missions as text files: this is the page on how they are laid out.

`read` makes a `Scenario` of a TOML file (https://toml.io, version 1.0), `write` a file of a
`Scenario`; what is written is read again to the last bit. A complete file:

    name = "turnstone-300"

    [vehicle]
    name = "Turnstone"
    payload_mass = "1.1 t"
    fairing = { mass = "320 kg" }

    [[vehicle.stages]]                # from the first to fly upwards
    name = "first"
    propellant_mass = "62 t"
    dry_mass = "4.8 t"
    engine = { vacuum_thrust = "1150 kN", vacuum_isp = "311 s", sea_level_isp = "282 s" }

    [[vehicle.stages]]
    name = "second"
    propellant_mass = "11.5 t"
    dry_mass = 950                    # without a unit: kg, the SI's
    engine = { vacuum_thrust = "95 kN", vacuum_isp = "343 s" }
    restarts = 1
    ignition_delay = "3 s"

    [[vehicle.boosters]]              # beside the first stage; may be left out
    name = "solids"
    count = 2
    propellant_mass = "8.93 t"        # of one of them
    dry_mass = "1.1 t"
    engine.vacuum_isp = "270 s"       # with a thrust curve it is a solid motor
    engine.time = [0, 5, 50, 60]
    engine.vacuum_thrust = { values = [300, 420, 410, 150], unit = "kN" }

    [vehicle.aerodynamics]
    reference_area = "4.5 m^2"
    drag_coefficient = { mach = [0, 0.8, 1.2, 5], cd = [0.3, 0.32, 0.55, 0.25] }

    [mission]
    body = "earth"
    site = { name = "Heron Spit", latitude = "-12 deg", altitude = "40 m" }
    orbit = { altitude = "300 km", inclination = "35 deg" }

    [mission.limits]
    dynamic_pressure = "40 kPa"
    axial_acceleration = "4.5 g0"

**Numbers** are in SI base units and radians, or texts with a unit: "62 t", "-12 deg", "2 deg/s",
"150 kPa deg", "398600.4418 km^3/s^2", "287 J/(kg K)". Units stand side by side for a product, after
a slash for a quotient, with a power behind them; a unit must measure what its key does. Known are
m km cm mm ft nmi, kg t tonne lb, s min h day, K, rad deg rev, g0, N kN MN lbf, Pa hPa kPa MPa mbar
bar psf psi, J kJ, W kW MW, and %. Numbers like `restarts` are whole, without a unit.

**Left out**, a key has the default of its class; ``"none"`` stands for None: no limit
(`q_alpha = "none"`), no vertical rise, a body without air.

**Tables** (thrust curves, drag curves, winds, air) have a list for each column: numbers, texts with
units, or ``{ values = [...], unit = "kN" }``. Instead of all of them `csv = "thrust.csv"` names a
file beside the description, whose first row names the columns, with units in brackets where they
are not the SI's: ``time [s], vacuum_thrust [kN]``. Rows that begin with # are left out.

**Keys** are the fields of the classes, whose pages say what they mean:

    Scenario            name vehicle mission
    Vehicle             name payload_mass stages boosters fairing aerodynamics
    Stage               name propellant_mass dry_mass engine restarts ignition_delay
    BoosterGroup        name count propellant_mass dry_mass engine ignition_time
    Engine              vacuum_thrust vacuum_isp sea_level_isp sea_level_thrust exit_area
                        min_throttle
    SolidMotor          time vacuum_thrust vacuum_isp sea_level_isp exit_area, or csv
    Fairing             mass max_heating
    Aerodynamics        reference_area drag_coefficient normal_force_slope
    DragCurve           mach cd, or csv
    Mission             body site orbit limits vertical_rise reserve lift_off_time
    LaunchSite          name latitude longitude altitude
    CircularOrbit       altitude inclination ascending_node
    EllipticalOrbit     periapsis_altitude apoapsis_altitude semi_major_axis eccentricity
                        inclination ascending_node argument_of_periapsis
    FlightLimits        dynamic_pressure staging_dynamic_pressure angle_of_attack q_alpha
                        axial_acceleration pitch_rate
    PropellantReserve   mass
    DeorbitReserve      periapsis_altitude with_payload allowance
    Body                name gravitational_parameter radius rotation_rate atmosphere j2 flattening
    exponential         surface_density scale_height ceiling surface_gravity surface_temperature
                        gas_constant heat_capacity_ratio
    tabulated           altitude temperature pressure density ceiling heat_capacity_ratio, or csv
    sounding            altitude pressure temperature wind_speed wind_from above ceiling
                        gas_constant, or csv
    Atmosphere          name log_density log_pressure temperature heat_capacity_ratio ceiling wind
                        awaits_body
    Wind                altitude eastward northward, or csv
    SmoothTable         knots values slopes curvatures, or csv, without units

Where several may stand (an engine or a solid motor, a circle or an ellipse, a reserve of mass or of
a way down, four ways to describe air), the keys say which one is meant. Air of each kind but the
last, and with a `base`, may also have `temperature_offset`, `density_factor`, `wind` and `name`,
which change it in this order.

**Known by name** are the bodies "earth", "mars" and "moon", and the air "standard 1976". With
`base` a table changes what it is given: the Earth with a wind is
``body = { base = "earth", atmosphere = { base = "standard 1976", wind = { csv = "wind.csv" } } }``.

**Errors** are `InputError`: file, key with dots (`vehicle.stages[1].engine.vacuum_thrust`, where
the first stage is 0), value, rule and fix.
"""

from __future__ import annotations

from ascentopt.descriptions.files import read, write

__all__ = ["read", "write"]
