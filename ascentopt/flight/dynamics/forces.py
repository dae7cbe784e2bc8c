"""The equations of motion, written once: forces at an instant as CasADi expressions.

Planet-centred inertial Cartesian coordinates, z along the spin axis: no angle is a coordinate,
so nothing is singular at lift-off, and every root is kept off zero.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import lru_cache

import casadi as ca

from ascentopt.flight.phases.arc_kind import ArcKind, ArcParameters, Guidance
from ascentopt.rocket import SolidMotor
from ascentopt.typing import Expr
from ascentopt.world.air import air_velocity
from ascentopt.world.atmosphere import AirState
from ascentopt.world.ellipsoid import altitude, up
from ascentopt.world.gravity import gravity

SLOWEST = 1e-3
"""m/s added in quadrature to the air speed: its square root stays smooth on the pad."""


@dataclass(frozen=True)
class Instant:
    """Where the vehicle is and what it is told to do; expressions or numbers, SI.

    Attributes:
        time, elapsed: clock since lift-off, and since the arc began.
        position, velocity: (3,) inertial.
        mass: kg.
        direction: (3,) thrust direction, unit.
        throttle: fraction of full thrust of the core.
        numbers: (len(kind.numbers),) in the order of `ArcKind.numbers`.
        turn: (3,) rate of the direction in 1/s where it is limited, else zero.
    """

    time: Expr
    elapsed: Expr
    position: Expr
    velocity: Expr
    mass: Expr
    direction: Expr
    throttle: Expr
    numbers: Expr
    turn: Expr = 0.0


@dataclass(frozen=True)
class Forces:
    """Everything that acts at an instant.

    Attributes:
        direction: (3,) where the thrust points.
        up: (3,) local vertical; altitude above the ellipsoid in m.
        air_velocity: (3,); air_speed is never quite zero.
        air: density, pressure and speed of sound, or None.
        dynamic_pressure: Pa.
        vacuum_thrust, thrust: N, before and after the loss to back-pressure.
        mass_flow: kg/s.
        aerodynamic: (3,) N.
        gravity: (3,) m/s^2.
    """

    instant: Instant
    direction: Expr
    up: Expr
    altitude: Expr
    air_velocity: Expr
    air_speed: Expr
    air: AirState | None
    dynamic_pressure: Expr
    vacuum_thrust: Expr
    thrust: Expr
    mass_flow: Expr
    aerodynamic: Expr
    gravity: Expr

    @property
    def acceleration(self) -> Expr:
        """(3,) inertial acceleration."""
        return self.gravity + self.push

    @property
    def push(self) -> Expr:
        """(3,) m/s^2 of thrust and air."""
        force = self.thrust * self.direction + self.aerodynamic
        return force / self.instant.mass

    @property
    def cosine_of_attack(self) -> Expr:
        """Cosine of the angle between thrust and air-relative velocity.

        Divided by the direction's own length, which an iterate need not have brought to one yet:
        never above one.
        """
        length = ca.sqrt(ca.sumsqr(self.direction) + 1e-12)
        return ca.dot(self.direction, self.air_velocity) / (self.air_speed * length)

    @property
    def axial_acceleration(self) -> Expr:
        """What an accelerometer along the axis reads, m/s^2."""
        along = self.thrust + ca.dot(self.aerodynamic, self.direction)
        return along / self.instant.mass

    @property
    def heating(self) -> Expr:
        """Free-molecular heating, half rho v^3, W/m^2."""
        return self.dynamic_pressure * self.air_speed


def forces(kind: ArcKind, instant: Instant) -> Forces:
    """Evaluate all forces of an arc of this kind."""
    taken = (getattr(instant, name) for name, _ in _TAKEN)
    found = _function(kind)(*taken, instant.numbers)
    values = dict(zip(_GIVEN, found, strict=False))
    air = AirState(*found[len(_GIVEN) :]) if kind.body.atmosphere is not None else None
    return Forces(instant=instant, air=air, **values)


_TAKEN = (
    ("time", 1),
    ("elapsed", 1),
    ("position", 3),
    ("velocity", 3),
    ("mass", 1),
    ("direction", 3),
    ("throttle", 1),
)
_GIVEN = tuple(field.name for field in fields(Forces) if field.name not in ("instant", "air"))


@lru_cache(maxsize=128)
def _function(kind: ArcKind) -> ca.Function:
    """From what is taken of an instant to what forces are.

    Written out but once for a kind: to call it with symbols takes a twentieth of the time.
    """
    symbols = {name: ca.SX.sym(name, size) for name, size in _TAKEN}
    numbers = ca.SX.sym("numbers", len(kind.numbers))
    now = _written_out(kind, Instant(**symbols, numbers=numbers))
    found = [ca.densify(ca.SX(getattr(now, name))) for name in _GIVEN]
    air = [ca.SX(value) for value in now.air or ()]
    return ca.Function("forces", [*symbols.values(), numbers], ca.cse([*found, *air]))


def _written_out(kind: ArcKind, instant: Instant) -> Forces:
    body = kind.body
    vertical = up(body, instant.position)
    height = altitude(body, instant.position)
    wind = air_velocity(body, instant.position, instant.velocity)
    speed = ca.sqrt(ca.sumsqr(wind) + SLOWEST**2)
    air = body.atmosphere.state(height) if body.atmosphere is not None else None
    pressure = 0.5 * air.density * speed**2 if air is not None else 0.0
    direction = vertical if kind.guidance is Guidance.VERTICAL else instant.direction
    full, flow, area = _propulsion(kind, instant)
    return Forces(
        instant=instant,
        direction=direction,
        up=vertical,
        altitude=height,
        air_velocity=wind,
        air_speed=speed,
        air=air,
        dynamic_pressure=pressure,
        vacuum_thrust=full,
        thrust=full - (air.pressure * area if air is not None else 0.0),
        mass_flow=flow,
        aerodynamic=_aerodynamic(kind, instant, air, wind, speed, direction),
        gravity=gravity(body, instant.position),
    )


def _propulsion(kind: ArcKind, instant: Instant) -> tuple[Expr, Expr, Expr]:
    """Vacuum thrust, mass flow and exit area of all that burns."""
    if kind.guidance is Guidance.COAST:
        return 0.0, 0.0, 0.0
    p = ArcParameters[Expr].of(kind, instant.numbers)
    share, flow_share = instant.throttle, instant.throttle
    if kind.core_curve is not None:
        share = _solid_thrust(kind, kind.core_curve, instant)
        flow_share = share / kind.core_curve.exhaust_speed
    thrust, flow = p.thrust * share + p.side_thrust, p.mass_flow * flow_share + p.side_mass_flow
    for (motor, count), lit in zip(kind.side_curves, p.side_ignitions, strict=True):
        clock = instant.time - lit
        thrust += count * motor.vacuum_thrust_at(clock)
        flow += count * motor.mass_flow_at(clock)
    return thrust, flow, p.exit_area + p.side_exit_area


def _solid_thrust(kind: ArcKind, motor: SolidMotor, instant: Instant) -> Expr:
    """Vacuum thrust of a solid core by its clock, or by what it has burned."""
    lit = ArcParameters[Expr].of(kind, instant.numbers).core_ignition
    if kind.core_by_mass:
        return motor.by_burned(lit - instant.mass)
    clock = instant.elapsed if kind.core_clock_starts else instant.time
    return motor.vacuum_thrust_at(clock - lit)


def _aerodynamic(
    kind: ArcKind, instant: Instant, air: AirState | None, wind: Expr, speed: Expr, direction: Expr
) -> Expr:
    """Drag against the air-relative velocity and the force normal to the axis, N.

    The normal force opposes the cross flow, the part of the air-relative velocity that is not
    along the axis, whose size is the speed times sin(alpha): q S slope sin(alpha), not q S slope
    alpha. Smooth where the speed is zero, and for angles to 180 degrees, where it is zero; see
    `Aerodynamics` for where that is a model.
    """
    if air is None:
        return ca.SX.zeros(3)
    p = ArcParameters[Expr].of(kind, instant.numbers)
    coefficient = p.drag_factor
    if kind.drag_curve is not None:
        coefficient = p.drag_factor * kind.drag_curve(speed / air.speed_of_sound)
    strength = -0.5 * air.density * speed * p.reference_area
    drag = strength * coefficient * wind
    if kind.guidance is Guidance.COAST:  # without thrust nothing says where the axis points
        return drag
    cross_flow = wind - ca.dot(wind, direction) * direction
    return drag + strength * p.normal_force_slope * cross_flow
