"""What is flown by habit: numbers for Earth, and how they fit another body."""

from __future__ import annotations

from math import sqrt

from ascentopt.errors import InputError
from ascentopt.rules.laws.open_number import Open
from ascentopt.units import deg, km
from ascentopt.world import Body, earth

KICK_SPEED = 60.0  # m/s at which vehicles are tipped over on Earth (common practice, no source)
KICK_ANGLE = 3.0 * deg  # common practice, no source
ANGLE_ALTITUDE = 10.0 * km  # where the motion leans by `ANGLE` on Earth (common practice)
ANGLE = 45.0 * deg  # common practice, no source


def habitual_speed(body: Body) -> float:
    """Speed in m/s of the tip-over by habit: 60 m/s on Earth, elsewhere as the speed of a circle.

    Above a flat ground, at a thrust in proportion to the weight and without air, gravity turns from
    the same angle are alike: all their speeds grow with that of the kick. So a kick at the same
    part of the speed that the orbit takes turns to the horizontal as far on the way there. (The
    flat, airless turn is textbook matter, from memory; that people scale so is no source.)
    """
    return KICK_SPEED * sqrt(_circle(body) / _circle(earth()))


def _circle(body: Body) -> float:
    """Square of the speed of a circle at the ground, m^2/s^2."""
    return body.gravitational_parameter / body.radius


def check_habit(owner: str, habit: tuple[float, ...] | None, opened: tuple[Open, ...]) -> None:
    """Refuse a habit of one's own that has not as many numbers, or one out of bounds."""
    if habit is None:
        return
    names = ", ".join(f"{one.name} ({one.unit})" for one in opened)
    if len(habit) != len(opened):
        raise InputError(f"{owner}: habit is {habit}; it must hold {names}. Give these.")
    for one, value in zip(opened, habit, strict=True):
        if not one.low <= value <= one.high:
            raise InputError(
                f"{owner}: habit has {one.valued(value)}; it must be between "
                f"{one.valued(one.low)} and {one.valued(one.high)}. Give {names} within bounds."
            )
