"""A second implementation of the physics, in plain NumPy, from the formulae of the textbooks.

It starts from the descriptions of rocket and body, not from the numbers that the builder makes of
them. Tables (air, drag, thrust curves) are those of the package, read through their NumPy path.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import atan2, cos, hypot, sin, sqrt

import numpy as np
import numpy.typing as npt

from ascentopt.rocket import BoosterGroup, DragCurve, Engine, SolidMotor, Stage, Vehicle
from ascentopt.world import Body

Vector = npt.NDArray[np.float64]

G0 = 9.80665
SEA_LEVEL = 101325.0
STILL = 1e-3  # m/s that the package adds in quadrature to the air speed


@dataclass(frozen=True)
class Alight:
    """What burns: a stage (with seconds since its ignition) and groups of boosters likewise."""

    stage: tuple[Stage, float] | None
    groups: tuple[tuple[BoosterGroup, float], ...] = ()
    throttle: float = 1.0


@dataclass(frozen=True)
class Result:
    acceleration: Vector
    mass_flow: float
    aerodynamic: Vector
    gravity: Vector
    thrust: float
    vacuum_thrust: float
    dynamic_pressure: float
    air_velocity: Vector
    altitude: float
    up: Vector


def forces(
    vehicle: Vehicle, body: Body, alight: Alight, state: Vector, direction: Vector
) -> Result:
    position, velocity, mass = state[:3], state[3:6], float(state[6])
    height, normal = geodetic(body, position)
    spin = np.array([0.0, 0.0, body.rotation_rate])
    wind = velocity - np.cross(spin, position) - blowing(body, position, height, normal)
    density, pressure, sound = 0.0, 0.0, 1.0
    if body.atmosphere is not None:
        density, pressure, sound = (float(x) for x in body.atmosphere.state(height))
    vacuum, flow, back = propulsion(alight, pressure)
    speed = sqrt(float(wind @ wind) + STILL**2)
    axis = direction if alight.stage or alight.groups else None
    air = aerodynamic(vehicle, density, wind, speed, speed / sound, axis)
    pull = gravity(body, position)
    thrust = vacuum - back
    return Result(
        acceleration=pull + (thrust * direction + air) / mass,
        mass_flow=flow,
        aerodynamic=air,
        gravity=pull,
        thrust=thrust,
        vacuum_thrust=vacuum,
        dynamic_pressure=0.5 * density * speed**2,
        air_velocity=wind,
        altitude=height,
        up=normal,
    )


def blowing(body: Body, position: Vector, height: float, normal: Vector) -> Vector:
    """Velocity of the air over the ground, from its two components there."""
    if body.atmosphere is None or body.atmosphere.wind is None:
        return np.zeros(3)
    eastward, northward = (float(x) for x in body.atmosphere.wind.at(height))
    # Within metres of the spin axis, where no direction is east, the wind dies away: as stated.
    east = np.array([-position[1], position[0], 0.0]) / hypot(1.0, position[0], position[1])
    return np.asarray(eastward * east + northward * np.cross(normal, east))


def geodetic(body: Body, position: Vector) -> tuple[float, Vector]:
    """Height and normal by fixed-point iteration on the latitude, from the definition."""
    x, y, z = (float(c) for c in position)
    a, square = body.radius, body.flattening * (2.0 - body.flattening)
    p = hypot(x, y)
    latitude = atan2(z, p * (1.0 - square))
    for _ in range(50):
        curvature = a / sqrt(1.0 - square * sin(latitude) ** 2)
        latitude = atan2(z + square * curvature * sin(latitude), p)
    curvature = a / sqrt(1.0 - square * sin(latitude) ** 2)
    # Exact on the foot's normal: projection of the place on it, less that of the foot.
    height = p * cos(latitude) + z * sin(latitude) - a * a / curvature
    longitude = atan2(y, x)
    normal = [cos(latitude) * cos(longitude), cos(latitude) * sin(longitude), sin(latitude)]
    return height, np.array(normal)


def gravity(body: Body, position: Vector) -> Vector:
    """Gradient of mu/r (1 - J2 (R/r)^2 P2(sin latitude)), with P2 = (3 s^2 - 1)/2.

    Radial and polar parts: the potential depends on r and z only, and
    U = mu/r - mu J2 R^2 (3 z^2 / r^5 - 1 / r^3) / 2.
    """
    mu, c = body.gravitational_parameter, 0.5 * body.j2 * body.radius**2
    r, z = float(np.linalg.norm(position)), float(position[2])
    along_r = -mu / r**2 - mu * c * (-15.0 * z**2 / r**6 + 3.0 / r**4)
    along_z = -mu * c * 6.0 * z / r**5
    return np.asarray(along_r * position / r + np.array([0.0, 0.0, along_z]))


def propulsion(alight: Alight, pressure: float) -> tuple[float, float, float]:
    """Vacuum thrust, mass flow, and thrust lost to the pressure of the air."""
    thrust = flow = back = 0.0
    burning = [(g.engine, clock, 1.0, g.count) for g, clock in alight.groups]
    if alight.stage is not None:
        stage, clock = alight.stage
        burning.append((stage.engine, clock, alight.throttle, 1))
    for engine, clock, throttle, count in burning:
        full = float(engine.vacuum_thrust_at(clock))
        share = throttle if isinstance(engine, Engine) else 1.0
        thrust += count * share * full
        flow += count * share * full / (G0 * engine.vacuum_isp)
        back += count * pressure * exit_area(engine)
    return thrust, flow, back


def exit_area(engine: Engine | SolidMotor) -> float:
    full = engine.vacuum_thrust if isinstance(engine, Engine) else engine.mean_thrust
    if isinstance(engine, Engine) and engine.sea_level_thrust is not None:
        return (full - engine.sea_level_thrust) / SEA_LEVEL
    if engine.sea_level_isp is not None:
        return full * (engine.vacuum_isp - engine.sea_level_isp) / engine.vacuum_isp / SEA_LEVEL
    return engine.exit_area or 0.0


def aerodynamic(
    vehicle: Vehicle,
    density: float,
    wind: Vector,
    speed: float,
    mach: float,
    axis: Vector | None,
) -> Vector:
    """Drag against the wind; normal force q S slope sin(alpha) against the cross flow."""
    shape = vehicle.aerodynamics
    if shape is None or density == 0.0:
        return np.zeros(3)
    given = shape.drag_coefficient
    cd = float(given(mach)) if isinstance(given, DragCurve) else float(given)
    q = 0.5 * density * speed**2
    total = -q * shape.reference_area * cd * wind / speed
    if axis is not None:
        cross = np.cross(np.cross(axis, wind), axis)  # the wind less its part along the axis
        total -= q * shape.reference_area * shape.normal_force_slope * cross / speed
    return total
