"""Conditions at the ends of arcs, as hashable expressions that programs are kept under."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

import casadi as ca

from ascentopt.collocation import Ends
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import ArcKind
from ascentopt.optimal.problem.path_limits import LOG_FROM
from ascentopt.optimal.problem.phase_model import unpowered
from ascentopt.typing import Expr
from ascentopt.world import Body
from ascentopt.world.ellipsoid import altitude, up

EndExpression = Callable[[Ends], Expr]

IMPULSE, SHIFT, EXCESS, VIRTUAL = slice(0, 3), slice(3, 6), 6, 7
"""Where they stand among the free numbers, and how many there are of what a flight to the orbit
within its limits has not got."""

PACE, WEIGHTS = 6, slice(7, 10)
"""Where they stand among the problem's parameters, after the lead."""


def lift_off(ends: Ends) -> Expr:
    """(7,) position, velocity and mass at the start of the first arc."""
    return ends.start[0][: MASS + 1]


@dataclass(frozen=True)
class Continuity:
    """Position and velocity after a joint less those before it."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """(6,) steps, all zero."""
        return ends.start[self.arc + 1][:MASS] - ends.end[self.arc][:MASS]


@dataclass(frozen=True)
class SteadyElements:
    """Elements of the orbit after a joint less those before it."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """(6,) steps, all zero."""
        return ends.start_coordinates[self.arc + 1][:MASS] - ends.end_coordinates[self.arc][:MASS]


@dataclass(frozen=True)
class MassStep:
    """Mass after a joint less the mass before it."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """In kg."""
        return ends.start[self.arc + 1][MASS] - ends.end[self.arc][MASS]


@dataclass(frozen=True)
class MassAfter:
    """Mass after a joint."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """In kg."""
        return ends.start[self.arc + 1][MASS]


@dataclass(frozen=True)
class MassLostBy:
    """Mass after a joint less that at lift-off: what was left behind, whatever ballast there is."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """In kg."""
        return ends.start[self.arc + 1][MASS] - ends.start[0][MASS]


@dataclass(frozen=True)
class AltitudeAtEnd:
    """Altitude at the end of an arc."""

    arc: int
    body: Body

    def __call__(self, ends: Ends) -> Expr:
        """In m."""
        return altitude(self.body, ends.end[self.arc][:3])


@dataclass(frozen=True)
class DynamicPressureAtEnd:
    """Dynamic pressure at the end of an arc, as ln(1 + q / LOG_FROM), like that along arcs.

    It falls exponentially with altitude, like the heating below. As it is a guess that stages in
    thick air was 350 times the limit's size away from it, and the solver never came back.
    """

    arc: int
    kind: ArcKind

    def __call__(self, ends: Ends) -> Expr:
        """A pure number; without air it is zero."""
        return ca.log1p(unpowered(self.kind, ends.end[self.arc]).dynamic_pressure / LOG_FROM)


@dataclass(frozen=True)
class HeatingAtEnd:
    """Logarithm of the free-molecular heating at the end of an arc, over 1 W/m^2.

    Heating falls exponentially with altitude; its logarithm is what Newton's method can use.
    """

    arc: int
    kind: ArcKind

    def __call__(self, ends: Ends) -> Expr:
        """A pure number; airless bodies heat nothing."""
        return ca.log(unpowered(self.kind, ends.end[self.arc]).heating + 1e-12)


@dataclass(frozen=True)
class UprightStart:
    """Thrust direction at the start of an arc less the local vertical."""

    arc: int
    body: Body

    def __call__(self, ends: Ends) -> Expr:
        """(3,) all zero."""
        start = ends.start[self.arc]
        return start[7:10] - up(self.body, start[:3])


@dataclass(frozen=True)
class SteadyDirection:
    """Thrust direction after a joint less that before it."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """(3,) all zero."""
        return ends.start[self.arc + 1][7:10] - ends.end[self.arc][7:10]


@dataclass(frozen=True)
class UnitStart:
    """Squared length of the thrust direction at the start of an arc."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """One."""
        return ca.sumsqr(ends.start[self.arc][7:10])


@dataclass(frozen=True)
class ElasticObjective:
    """Mass at the end of an arc, missing speed and excess of the loads, each times its weight.

    The weights are parameters, so that one program serves every mode. The missing speed is half
    the square of the virtual impulse: smooth at zero, and least where it is least. A virtual shift
    counts with the speed that it is worth, the pace times its length.
    """

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        """In kg or in m^2/s^2, as the weights say."""
        impulse, shift = ends.free[IMPULSE], ends.free[SHIFT]
        missing = 0.5 * (ca.sumsqr(impulse) + ends.parameter[PACE] ** 2 * ca.sumsqr(shift))
        terms = ca.vertcat(ends.end[self.arc][MASS], missing, ends.free[EXCESS])
        return ca.dot(ends.parameter[WEIGHTS], terms)
