"""Where the thrust is meant to point within a step of integration, and how far it is opened."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import casadi as ca

from ascentopt.flight.dynamics.local_frame import Axis, local_axes
from ascentopt.flight.guidance.direction import View
from ascentopt.typing import Expr
from ascentopt.world.body import Body

AIM = 7
"""Numbers that guidance gives for a step: a vector, its rate, and the throttle."""


class Aim(ABC):
    """A direction (3) and a throttle as expressions; hashable by value."""

    @abstractmethod
    def at(self, body: Body, view: View, given: Expr) -> tuple[Expr, Expr]:
        """At an instant; `view.phase_time` is the time into the arc.

        `given` (8) is what guidance says, and last the time into the step.
        """


@dataclass(frozen=True)
class Upright(Aim):
    """Along the local vertical, at full thrust."""

    def at(self, body: Body, view: View, given: Expr) -> tuple[Expr, Expr]:
        """Up."""
        return view.up, ca.SX(1.0)


@dataclass(frozen=True)
class Guided(Aim):
    """Along a vector that changes at a constant rate through the step."""

    def at(self, body: Body, view: View, given: Expr) -> tuple[Expr, Expr]:
        """Of length one."""
        vector = given[:3] + given[AIM] * given[3:6]
        return vector / ca.norm_2(vector), given[6]


class Abscissa(ABC):
    """What a table counts."""

    @abstractmethod
    def of(self, view: View) -> Expr:
        """Its value at an instant."""


@dataclass(frozen=True)
class ArcTime(Abscissa):
    """Seconds since the arc began."""

    def of(self, view: View) -> Expr:
        """That time."""
        return view.phase_time


@dataclass(frozen=True)
class AirSpeed(Abscissa):
    """Speed through the nominal air, m/s: what a platform tells without a probe."""

    def of(self, view: View) -> Expr:
        """Kept off zero, where its root has no slope."""
        return ca.sqrt(ca.sumsqr(view.air_velocity) + 1e-6)


@dataclass(frozen=True)
class Altitude(Abscissa):
    """Metres above the ellipsoid."""

    def of(self, view: View) -> Expr:
        """That altitude."""
        return view.altitude


@dataclass(frozen=True)
class Tabled(Aim):
    """By a table, linear between its knots and constant beyond.

    Args:
        abscissa: what the knots count.
        knots: (n,) increasing.
        rows: (n, 4) components up, east and north, and throttle.
        axis: that east turns about.
    """

    abscissa: Abscissa
    knots: tuple[float, ...]
    rows: tuple[tuple[float, float, float, float], ...]
    axis: Axis

    def at(self, body: Body, view: View, given: Expr) -> tuple[Expr, Expr]:
        """Of length one."""
        place = ca.fmin(ca.fmax(self.abscissa.of(view), self.knots[0]), self.knots[-1])
        row = self._lookup()(place)
        up, east, north = local_axes(body, view.position, self.axis)
        vector = row[0] * up + row[1] * east + row[2] * north
        return vector / ca.norm_2(vector), row[3]

    def _lookup(self) -> ca.Function:
        flat = [value for row in self.rows for value in row]
        table = ca.interpolant("steering", "linear", [list(self.knots)], flat)
        x = ca.MX.sym("x")
        return ca.Function("steering_at", [x], [table(x)], {"never_inline": True})
