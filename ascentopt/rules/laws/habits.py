"""What is flown by habit: numbers for Earth, and how they fit another body."""

from __future__ import annotations

from math import sqrt

from ascentopt.errors import InputError
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.units import deg, km
from ascentopt.world import Body, earth
from ascentopt.world.gravity import surface_circular_speed

KICK_SPEED = 60.0  # m/s at which vehicles are tipped over on Earth (common practice, no source)
KICK_ANGLE = 3.0 * deg  # common practice, no source
ANGLE_ALTITUDE = 10.0 * km  # where the motion leans by `ANGLE` on Earth (common practice)
ANGLE = 45.0 * deg  # common practice, no source


def habitual_speed(body: Body) -> float:
    """Speed in m/s of the tip-over by habit: 60 m/s on Earth, elsewhere by the speed of a circle.

    Above a flat ground, without air and at a constant ratio of thrust and weight, gravity turns
    from the same angle are alike: all their speeds grow with that of the kick, which should be the
    same part of the speed that the orbit takes. But exhausts are no slower on a small planet: on
    the shorter way the ratio grows less, and what is tipped over so early falls. Half way between,
    the root of the ratio of the circles' speeds at the ground, is flown (common practice, no
    source; measured in `benchmarks/decisions/habits-elsewhere.md`).
    """
    return KICK_SPEED * sqrt(surface_circular_speed(body) / surface_circular_speed(earth()))


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
                f"{owner}: habit has {Parameter(name=one.name, value=value, unit=one.unit)}; it "
                "must be between "
                f"{one.valued(one.low)} and {one.valued(one.high)}. Give {names} within bounds."
            )
