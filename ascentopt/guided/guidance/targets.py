"""What a guided burn is to end in, and what makes the way there the cheapest.

Six conditions at the end: radius, climb and speed across it are those planned, and three more of
plane and costates. What may turn freely must not gain by turning: about an axis e that is the
component along e of A = v x p - r x p', where p is the costate of velocity and p' minus that of
position.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import cos, sin

import casadi as ca
import numpy as np

from ascentopt.typing import Expr, Floats

Vector = tuple[float, float, float]

CONDITIONS = 6
RADIUS, CLIMB, SPEED, PLANE = range(4)
"""Places of the conditions; the plane's take three."""


class Plane(ABC):
    """The plane asked for, as conditions on what is predicted at the end."""

    @abstractmethod
    def conditions(self, now: EndExpressions) -> Expr:
        """(3,) of size one; the first is to be met by the velocity where the place is as it is."""

    @property
    def steers_velocity(self) -> bool:
        """Whether the first of them is one of the velocity."""
        return True

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """(N,) m out of the plane and m/s out of it, of (N, 6) states."""
        return np.zeros(len(states)), np.zeros(len(states))


@dataclass(frozen=True)
class EndExpressions:
    """What is predicted at the end, in units of the target's radius and speed."""

    place: Expr
    velocity: Expr
    turning: Expr

    @property
    def momentum(self) -> Expr:
        """(3,) of a unit of mass."""
        return ca.cross(self.place, self.velocity)


@dataclass(frozen=True)
class AnyPlane(Plane):
    """Whatever is cheapest."""

    def conditions(self, now: EndExpressions) -> Expr:
        """No turn gains."""
        return now.turning

    @property
    def steers_velocity(self) -> bool:
        """None of them is."""
        return False


@dataclass(frozen=True)
class Inclined(Plane):
    """An inclination, in rad, wherever its node is."""

    inclination: float

    def conditions(self, now: EndExpressions) -> Expr:
        """Neither a turn about the spin axis nor one within the plane gains."""
        normal = now.momentum / ca.norm_2(now.momentum)
        tilt = normal[2] - cos(self.inclination)
        return ca.vertcat(tilt, now.turning[2], ca.dot(now.turning, normal))

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """The way out of the nearest plane of that inclination, as speed."""
        place, velocity = states[:, :3], states[:, 3:6]
        momentum = np.cross(place, velocity)
        level = np.hypot(momentum[:, 0], momentum[:, 1])
        off = np.arctan2(level, momentum[:, 2]) - self.inclination
        return np.zeros(len(states)), off * np.sqrt((velocity**2).sum(axis=1))


@dataclass(frozen=True)
class Fixed(Plane):
    """The plane with a normal (3), of length one and along the momentum."""

    normal: Vector

    def conditions(self, now: EndExpressions) -> Expr:
        """In the plane; no turn within it gains."""
        normal = ca.DM(list(self.normal))
        return ca.vertcat(
            ca.dot(normal, now.velocity), ca.dot(normal, now.place), ca.dot(normal, now.turning)
        )

    def misses(self, states: Floats) -> tuple[Floats, Floats]:
        """Along the normal."""
        normal = np.array(self.normal)
        return states[:, :3] @ normal, states[:, 3:6] @ normal


@dataclass(frozen=True)
class ThroughNode(Plane):
    """Any plane that holds the line of nodes at an angle in rad from the x axis."""

    node: float

    def conditions(self, now: EndExpressions) -> Expr:
        """Neither a turn about that line nor one within the plane gains."""
        line = ca.DM([cos(self.node), sin(self.node), 0.0])
        normal = now.momentum / ca.norm_2(now.momentum)
        return ca.vertcat(
            ca.dot(normal, line), ca.dot(now.turning, line), ca.dot(now.turning, normal)
        )


@dataclass(frozen=True)
class Target:
    """Where a burn ends.

    Args:
        radius: m from the centre.
        climb, speed: m/s away from the centre, and across.
        plane: of the orbit.
        free_end: whether the burn can be cut off; one of a solid motor cannot, and ends with
            whatever speed across there is.
    """

    radius: float
    climb: float
    speed: float
    plane: Plane
    free_end: bool = True


ENDED = 12
"""Position, velocity, p and its rate at the end."""


def target_function(target: Target) -> ca.Function:
    """From what is predicted at the end (12) to the conditions (6) and their slopes by it (72)."""
    x = ca.SX.sym("x", ENDED)
    pace = (target.speed**2 + target.climb**2) ** 0.5
    place, velocity = x[:3] / target.radius, x[3:6] / pace
    p, rate = x[6:9], x[9:12] * (target.radius / pace)
    turning = ca.cross(velocity, p) - ca.cross(place, rate)
    distance = ca.norm_2(place)
    climb = ca.dot(place, velocity) / distance
    across = ca.norm_2(ca.cross(place, velocity)) / distance
    shape = distance - 1.0, climb - target.climb / pace, across - target.speed / pace
    conditions = ca.vertcat(
        *shape, target.plane.conditions(EndExpressions(place, velocity, turning))
    )
    slopes = ca.jacobian(conditions, x)
    found = ca.vertcat(conditions, ca.reshape(slopes, -1, 1))
    return ca.Function("target", [x], [ca.cse(ca.densify(found))])
