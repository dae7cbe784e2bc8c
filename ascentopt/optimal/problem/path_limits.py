"""Quantities that a mission may limit along an arc, one small class each.

To add a limit: write its class here, and name it in `path_limits`.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, field
from math import hypot, inf, log, log1p

import casadi as ca

from ascentopt.collocation import Quantity
from ascentopt.flight.dynamics.forces import Forces
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.mission import FlightLimits
from ascentopt.typing import Expr
from ascentopt.units import STANDARD_GRAVITY, deg, km, kPa

STILL_AIR = 200.0
"""Pa. Dynamic pressure around which the limit on the angle of attack sets in: below it the angle
says nothing about loads, and on the pad, or in a near vacuum, it is not even defined. At five
times this value the limit is exact to 1e-10."""

SOFT_Q_ALPHA = 50 * kPa * deg
"""Pa rad. Below a few times this the measure of q alpha bends from linear to quadratic."""

LOG_FROM = 1 * kPa
"""Pa. Dynamic pressures well above this are limited by their logarithm, those below as they are."""

FAINT = 1.0
"""W/m^2. Heating well above this is limited by its logarithm. A thousandth of what payloads bear,
and of sunlight: below it nobody asks."""

NEAR_GROUND = 1 * km
"""m. Heights above a clearance well below this are limited as they are, those above it by their
logarithm."""

HEATING = "log heating of the payload"
"""What `PayloadHeating` calls its quantity."""


BY_THRUST = "acceleration by thrust"
"""What `AxialAcceleration` calls its quantity where it leaves the air aside."""


class PathLimit(ABC):
    """A quantity along an arc with the values that it must lie between."""

    @property
    @abstractmethod
    def quantity(self) -> Quantity:
        """Name, unit and typical size."""

    @abstractmethod
    def value(self, now: Forces) -> Expr:
        """The quantity at an instant."""

    def elastic_value(self, now: Forces, factor: Expr) -> Expr:
        """The quantity if what the air does to the vehicle were so many times less."""
        return self.value(now)

    @property
    def nodes_only(self) -> bool:
        """Whether it is enough that it holds at the nodes."""
        return False

    @abstractmethod
    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """Least and greatest value that the mission allows."""


@dataclass(frozen=True)
class UnitDirection(PathLimit):
    """The thrust direction has length one."""

    @property
    def quantity(self) -> Quantity:
        """Squared length."""
        return Quantity("squared length of the thrust direction")

    def value(self, now: Forces) -> Expr:
        """Squared length: smooth, where the length is not."""
        return ca.sumsqr(now.direction)

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """Exactly one."""
        return 1.0, 1.0


@dataclass(frozen=True)
class DynamicPressure(PathLimit):
    """Half rho v^2, as ln(1 + q / LOG_FROM).

    It is an exponential of altitude: its logarithm is what Newton's method can follow.
    """

    @property
    def quantity(self) -> Quantity:
        """Its logarithm over `LOG_FROM`."""
        return Quantity("log dynamic pressure", f"ln(1 + q / {LOG_FROM:.0f} Pa)")

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        return self.elastic_value(now, 1.0)

    def elastic_value(self, now: Forces, factor: Expr) -> Expr:
        """At a fraction of the pressure."""
        return ca.log(1.0 + now.dynamic_pressure / (factor * LOG_FROM))

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the mission's."""
        return -inf, log1p(_limit(limits.dynamic_pressure) / LOG_FROM)


@dataclass(frozen=True)
class AngleOfAttack(PathLimit):
    """Angle of attack where the air is dense enough for it to matter.

    The value is alpha^2 (1 - exp(-(q / STILL_AIR)^2)): free at low dynamic pressure, where an angle
    of 1.26 times the limit is allowed at STILL_AIR, and of twice the limit at half of it. The angle
    itself, by a series in its cosine, and not its sine, as in the normal force. On arcs that are
    steered: in a vertical rise the wind alone decides.
    """

    @property
    def quantity(self) -> Quantity:
        """Squared, in rad^2; some degrees are the usual size."""
        return Quantity("squared angle of attack", "rad^2", 0.01)

    def value(self, now: Forces) -> Expr:
        """The square, faded out where the air is thin or still."""
        share = 1.0 - ca.exp(-((now.dynamic_pressure / STILL_AIR) ** 2))
        return share * squared_angle(now.cosine_of_attack)

    def elastic_value(self, now: Forces, factor: Expr) -> Expr:
        """At a fraction of the angle."""
        return self.value(now) / factor**2

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the square of the mission's angle."""
        return -inf, _limit(limits.angle_of_attack) ** 2


@dataclass(frozen=True)
class QAlpha(PathLimit):
    """Dynamic pressure times angle of attack, as ln hypot(q alpha, SOFT_Q_ALPHA).

    Smooth where the angle is zero, and flat where an iterate is far beyond the limit: q alpha
    itself, or its square, would throw Newton's method off.
    """

    @property
    def quantity(self) -> Quantity:
        """Its logarithm, softened."""
        return Quantity("log softened q-alpha", "ln(Pa rad)")

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        return self.elastic_value(now, 1.0)

    def elastic_value(self, now: Forces, factor: Expr) -> Expr:
        """At a fraction of the product."""
        squared = now.dynamic_pressure**2 * squared_angle(now.cosine_of_attack)
        return 0.5 * ca.log(squared / factor**2 + SOFT_Q_ALPHA**2)

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the mission's, softened alike."""
        return -inf, log(hypot(_limit(limits.q_alpha), SOFT_Q_ALPHA))


@dataclass(frozen=True)
class AxialAcceleration(PathLimit):
    """What the crew or the payload feels along the axis.

    Args:
        by_thrust: as if no air held the vehicle back. Where the air's loads are no matter yet, a
            flight may dive until drag keeps a full burn within the limit, at twenty times the loads
            that are allowed, and no way leads back from there.
    """

    by_thrust: bool = False

    @property
    def quantity(self) -> Quantity:
        """In m/s^2."""
        name = BY_THRUST if self.by_thrust else "axial acceleration"
        return Quantity(name, "m/s^2", STANDARD_GRAVITY)

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        return now.thrust / now.instant.mass if self.by_thrust else now.axial_acceleration

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the mission's."""
        return -inf, _limit(limits.axial_acceleration)


@dataclass(frozen=True)
class PitchRate(PathLimit):
    """How fast the thrust direction turns in inertial space, squared.

    Args:
        assumed: no limit of the mission's but one that gives the problem an optimum. The best turn
            goes from bound to bound, and beside such a jump overshoots on every mesh, for a shorter
            time on every finer one.
    """

    assumed: bool = False

    @property
    def nodes_only(self) -> bool:
        """Nobody asked for it."""
        return self.assumed

    @property
    def quantity(self) -> Quantity:
        """In (rad/s)^2."""
        return Quantity("squared pitch rate", "(rad/s)^2", deg**2)

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        return ca.sumsqr(now.instant.turn)

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the mission's."""
        return -inf, _limit(limits.pitch_rate) ** 2


@dataclass(frozen=True)
class Clearance(PathLimit):
    """Height above a clearance: without drag the best way to orbit is to hug the ground, or below.

    As asinh of kilometres: a line near the clearance, a logarithm far from it. Where the solver
    makes a Hessian convex it holds slacks as it holds states, each in its own unit. In kilometres
    a coast to an apoapsis of thousands of them is held fast by a limit that is of no matter there.

    Args:
        least: m above the ellipsoid, at rest.
        rising: s^2/m by which it rises with the squared speed over ground.
    """

    least: float
    rising: float = 0.0

    @property
    def quantity(self) -> Quantity:
        """Its area hyperbolic sine over a kilometre."""
        return Quantity("height above the clearance", f"asinh(height / {NEAR_GROUND:.0f} m)")

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        least = self.least + self.rising * ca.sumsqr(now.air_velocity)
        return ca.asinh((now.altitude - least) / NEAR_GROUND)

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """None below the clearance."""
        return 0.0, inf


@dataclass(frozen=True)
class PayloadHeating(PathLimit):
    """Free-molecular heating, half rho v^3, of a payload without its fairing, as ln(1 + h / FAINT).

    Heating falls exponentially with altitude: the logarithm is all but linear in it, far beyond the
    limit, too, and where there is no air it is zero, and flat.

    Args:
        most: W/m^2. Not compared: it is a bound, and the equations are the same for any.
    """

    most: float = field(compare=False)

    @property
    def quantity(self) -> Quantity:
        """Its logarithm over `FAINT`."""
        return Quantity(HEATING, f"ln(1 + h / {FAINT:.0f} W/m^2)")

    def value(self, now: Forces) -> Expr:
        """At the instant."""
        return ca.log(1.0 + now.heating / FAINT)

    def bounds(self, limits: FlightLimits) -> tuple[float, float]:
        """At most the fairing's."""
        return -inf, log1p(self.most / FAINT)


def squared_angle(cosine: Expr) -> Expr:
    """Square of the angle with this cosine, by its series about zero.

    arccos(1 - y)^2 = 2 y + y^2/3 + 4 y^3/45 + y^4/35 + 8 y^5/1575 + ...; the five terms are
    analytic at zero, where arccos is not, and low by 1.1e-4 of the angle at 60 degrees.
    It is 4 arcsin(sqrt(y/2))^2 with arcsin(x)^2 = sum over n of (2x)^(2n) / (2 n^2 C(2n, n)).
    """
    y = 1.0 - cosine
    return y * (2.0 + y * (1.0 / 3.0 + y * (4.0 / 45.0 + y * (1.0 / 35.0 + y * 8.0 / 1575.0))))


def path_limits(limits: FlightLimits, guidance: Guidance, *, in_air: bool) -> tuple[PathLimit, ...]:
    """The limits that an arc must watch; those on the air only where there is any."""
    found: list[PathLimit] = []
    if guidance is Guidance.STEERED:
        found.append(UnitDirection())
        found += [PitchRate()] if limits.pitch_rate is not None else []
    if in_air and limits.dynamic_pressure is not None:
        found.append(DynamicPressure())
    if in_air and guidance is Guidance.STEERED:
        found += [AngleOfAttack()] if limits.angle_of_attack is not None else []
        found += [QAlpha()] if limits.q_alpha is not None else []
    if limits.axial_acceleration is not None and guidance is not Guidance.COAST:
        found.append(AxialAcceleration())
    return tuple(found)


def _limit(value: float | None) -> float:
    return inf if value is None else value
