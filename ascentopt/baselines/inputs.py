"""What a cost depends on, as plain values under dotted names: a vehicle and a mission laid flat."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import Field, fields, is_dataclass
from functools import lru_cache
from hashlib import sha256
from numbers import Real
from typing import Any, TypeGuard, get_args

from ascentopt.mission import Mission, Orbit, Reserve
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.engine import Propulsion
from ascentopt.world import SmoothTable

Input = float | int | str | tuple[float, ...]
"""A number in SI units, a whole number, a name or what is said of a table, or a short table."""

DIGITS = 12
"""Significant digits of an input that are kept: more than anybody means, and fewer than differ
between two ways to write down the same number."""

SAME = 1e-9
"""Share of itself by which an input may differ and be the same: no cost can feel it, which goes by
some ten times its inputs' shares, and agreement is asked for to a hundred-thousandth."""

LONGEST_LINE = 24
"""Numbers of a table that a person compares on a line; of a longer one a digest is told."""

_DIGEST_DIGITS = 9
_EITHER_OR = (*get_args(Orbit), *get_args(Propulsion), *get_args(Reserve))


_LARGEST = 1e300
"""No input comes near; whole numbers beyond the range of floats compare with none."""


def is_number(value: object) -> TypeGuard[float | int]:
    """Whether a value is a finite number, and no truth value."""
    number = isinstance(value, int | float) and not isinstance(value, bool)
    return number and -_LARGEST < value < _LARGEST  # type: ignore[operator]


def is_text(value: object) -> TypeGuard[str]:
    """Whether a value is a text that a file can hold: no halves of characters."""
    return isinstance(value, str) and not any("\ud800" <= one <= "\udfff" for one in value)


def is_name(value: object) -> TypeGuard[str]:
    """Whether a value may be the name of a case: a text that can be printed."""
    return isinstance(value, str) and bool(value.strip()) and value.isprintable()


def is_input(value: object) -> TypeGuard[Input]:
    """Whether a value may stand for an input."""
    if isinstance(value, tuple):
        return all(map(is_number, value))
    return is_text(value) or is_number(value)


def inputs_of(vehicle: Vehicle, mission: Mission) -> dict[str, Input]:
    """Every number and name of the two by its place, such as `vehicle.stages[0].dry_mass`.

    What is None or not so (False) is left out. A solid motor is told by its burn time and the shape
    of its curve, shares of that time and of the mean thrust: its stage's propellant gives the rest.
    """
    return dict([*_laid_flat("vehicle", vehicle), *_laid_flat("mission", mission)])


def is_same(one: Input | None, other: Input | None) -> bool:
    """Whether two inputs are the same but for rounding."""
    if isinstance(one, tuple) and isinstance(other, tuple):
        return len(one) == len(other) and all(map(is_same, one, other))
    if isinstance(one, int | float) and isinstance(other, int | float):
        return abs(one - other) <= SAME * max(abs(one), abs(other))
    return one == other


def kept(number: float, digits: int = DIGITS) -> float:
    """The number with so many significant digits."""
    return float(f"{number:.{digits - 1}e}")


def _laid_flat(name: str, value: Any) -> Iterator[tuple[str, Input]]:
    if isinstance(value, _EITHER_OR):
        yield name, type(value).__name__
    if isinstance(value, SmoothTable) and len(value.knots) > 1:
        yield name, _digest((value.knots, value.values, value.slopes, value.curvatures))
    elif isinstance(value, SolidMotor):
        yield from _motor(name, value)
    elif is_dataclass(value):
        for field in fields(value):
            yield from _field(f"{name}.{field.name}", field, getattr(value, field.name))
    elif value is not None and value is not False:
        yield name, _plain(value)


def _field(name: str, field: Field[Any], value: Any) -> Iterator[tuple[str, Input]]:
    if isinstance(value, tuple) and value and is_dataclass(value[0]):
        for index, part in enumerate(value):
            yield from _laid_flat(f"{name}[{index}]", part)
    elif isinstance(value, tuple):
        if value:
            yield name, _column(value)
    elif isinstance(value, int) and field.type == "int":
        yield name, value
    else:
        yield from _laid_flat(name, value)


def _motor(name: str, motor: SolidMotor) -> Iterator[tuple[str, Input]]:
    end, mean = motor.burn_time, motor.mean_thrust
    yield f"{name}.burn_time", kept(end)
    yield f"{name}.time_shares", _column(tuple(time / end for time in motor.time))
    yield f"{name}.thrust_shares", _column(tuple(thrust / mean for thrust in motor.vacuum_thrust))
    for field in ("vacuum_isp", "sea_level_isp", "exit_area"):
        yield from _laid_flat(f"{name}.{field}", getattr(motor, field))


def _plain(value: object) -> Input:
    """Text as UTF-8 can hold it; whatever else is no number by its word for itself."""
    if isinstance(value, Real) and not isinstance(value, bool):
        return kept(float(value))
    return str(value).encode("utf-8", "replace").decode("utf-8")


def _column(values: tuple[float, ...]) -> Input:
    return tuple(map(kept, values)) if len(values) <= LONGEST_LINE else _digest((values,))


@lru_cache(maxsize=64)
def _digest(columns: tuple[tuple[float, ...], ...]) -> str:
    """A table in words: how long, from where to where, and a digest of all its numbers."""
    said = f"{len(columns[0])} points"
    for word, column in zip(("", ", values"), columns, strict=False):
        said += f"{word} from {column[0]:.6g} to {column[-1]:.6g}"
    numbers = " ".join(f"{x:.{_DIGEST_DIGITS - 1}e}" for column in columns for x in column)
    return f"{said}, digest {sha256(numbers.encode()).hexdigest()[:12]}"
