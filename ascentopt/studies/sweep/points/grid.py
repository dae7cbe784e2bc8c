"""The points of a sweep: what is varied, by which values, and the vehicle and mission of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, is_dataclass
from itertools import product
from numbers import Real
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.optimal.perturbations import Case
from ascentopt.persistence import Result
from ascentopt.studies.sweep.points.places import Place, place_named
from ascentopt.studies.sweep.points.slips import warn_of_slips
from ascentopt.studies.sweep.points.varied import Varied
from ascentopt.tables import in_a_line
from ascentopt.telling import told

_OWNER = "sweep"


@dataclass(frozen=True, eq=False, kw_only=True)
class SweptName(Result):
    """What is varied, and in which SI unit; "-" for numbers without one, empty for no numbers."""

    name: str
    unit: str

    __repr__ = in_a_line


@dataclass(frozen=True, eq=False, kw_only=True)
class SweptPoints:
    """What is to be solved.

    Attributes:
        names: what is varied.
        values: of each point, one for each name.
        shape: how many values each name has where all are combined, the last one running fastest;
            empty for a list of points.
        cases: vehicle and mission of each point, or why its description is refused.
    """

    names: tuple[SweptName, ...]
    values: tuple[tuple[Any, ...], ...]
    shape: tuple[int, ...]
    cases: tuple[Case | InputError, ...]


def swept_points(case: Case, over: Any) -> SweptPoints:
    """The points of a grid (a mapping of rows) or a list (a row of mappings).

    Raises:
        InputError: for a name of nothing, a value of another kind than its place takes, nothing to
            vary, or where every point's description is refused.
    """
    if isinstance(over, Mapping):
        return _of_grid(case, over)
    if isinstance(over, str | bytes) or not isinstance(over, Sequence):
        raise _no_points(over)
    return _of_list(case, over)


def _of_grid(case: Case, over: Mapping[Any, Any]) -> SweptPoints:
    sides = {_name(name): _side(name, given) for name, given in over.items()}
    if not sides:
        raise _no_points(over)
    varied = {name: given for name, given in over.items() if isinstance(given, Varied)}
    rows = [dict(zip(sides, point, strict=True)) for point in product(*sides.values())]
    shape = tuple(len(side) for side in sides.values())
    return _checked(case, rows, varied, shape)


def _of_list(case: Case, over: Sequence[Any]) -> SweptPoints:
    rows = []
    for index, point in enumerate(over):
        if not isinstance(point, Mapping) or not point or {*point} != {*over[0]}:
            raise InputError(
                f"{_OWNER}: over[{index}] is {told(point)}; it must hold a value for each of the "
                f"names of the first point, {told(over[0])}. Give all points the same names."
            )
        rows.append({_name(name): point[name] for name in over[0]})
    if not rows:
        raise _no_points(over)
    return _checked(case, rows, {}, ())


def _no_points(over: object) -> InputError:
    return InputError(
        f"{_OWNER}: over is {told(over)}; it must be a dict of names with values, or a list of "
        'such dicts with one value each. Write, for instance, {"payload_mass": [900.0, 1000.0]}.'
    )


def _name(name: object) -> str:
    if isinstance(name, str) and name.strip():
        return name
    raise InputError(
        f"{_OWNER}: over has the name {told(name)}; it must be a text. Put it in quotes."
    )


def _side(name: str, given: object) -> tuple[object, ...]:
    values = given.values if isinstance(given, Varied) else given
    if isinstance(values, np.ndarray):
        values = values.tolist()
    if isinstance(values, str | bytes) or not isinstance(values, Sequence) or not len(values):
        raise InputError(
            f"{_OWNER}: {name} is {told(given)}; it must be a row of values, at least one. Write "
            "them in a list."
        )
    return tuple(values)


def _checked(
    case: Case, rows: Sequence[Mapping[str, object]], varied: Mapping[str, Varied],
    shape: tuple[int, ...],
) -> SweptPoints:  # fmt: skip
    places = {name: _place(name, case, rows[0]) for name in rows[0] if name not in varied}
    _check_distinct(places)
    # What is exchanged as a whole comes first: a number that it leaves open may be varied as well.
    order = sorted(rows[0], key=lambda name: len(places[name].steps) if name in places else 99)
    cases = tuple(_case(case, {name: row[name] for name in order}, varied) for row in rows)
    refusals = [one for one in cases if isinstance(one, InputError)]
    if len(refusals) == len(rows):
        raise InputError(f"{_OWNER}: no point can be described. {refusals[0]}")
    warn_of_slips(case, [cases[k] for k in (0, -1)])
    values = tuple(tuple(map(as_told, row.values())) for row in rows)
    _check_no_point_twice(tuple(rows[0]), values)
    units = {name: varied[name].unit if name in varied else places[name].unit for name in rows[0]}
    return SweptPoints(
        names=tuple(SweptName(name=name, unit=_unit(units[name], rows, name)) for name in rows[0]),
        values=values,
        shape=shape,
        cases=cases,
    )


def _check_no_point_twice(names: tuple[str, ...], points: Sequence[tuple[Any, ...]]) -> None:
    """Refuse points of the same numbers; what is told in words may differ all the same."""
    seen: dict[tuple[Any, ...], int] = {}
    for index, point in enumerate(points):
        if all(value is None or is_number(value) for value in point):
            if point in seen:
                pairs = zip(names, point, strict=True)
                told_again = ", ".join(f"{name} {value}" for name, value in pairs)
                raise InputError(
                    f"{_OWNER}: points {seen[point]} and {index} are both {told_again}; each must "
                    "differ from the others. Leave one of them out."
                )
            seen[point] = index


def _place(name: str, case: Case, row: Mapping[str, object]) -> Place:
    """The place of a name, in the case or in a whole that is exchanged above it."""
    try:
        return place_named(_OWNER, name, case)
    except InputError:
        above = _above(name, row)
        if not above:
            raise
    changed = case
    for one in above:
        place = place_named(_OWNER, one, changed)
        changed = place.put(changed, place.fitting(f"{_OWNER}: {one}", row[one]))
    return place_named(_OWNER, name, changed)


def _above(name: str, row: Mapping[str, object]) -> list[str]:
    return sorted((one for one in row if one != name and is_dataclass(row[one])), key=len)


def _check_distinct(places: Mapping[str, Place]) -> None:
    seen: dict[str, str] = {}
    for name, place in places.items():
        if place.name in seen:
            raise InputError(
                f"{_OWNER}: {seen[place.name]} and {name} are both {place.name}; each number may "
                "be varied once. Leave one of them out."
            )
        seen[place.name] = name


def _case(
    case: Case, row: Mapping[str, object], varied: Mapping[str, Varied]
) -> Case | InputError:
    wholes: list[Place] = []
    for name, value in row.items():
        if name in varied:
            case = varied[name].put(name, case, value)
            continue
        place = place_named(_OWNER, name, case)
        kept = place.fitting(f"{_OWNER}: {name}", value)
        _check_not_said(place, kept, case, wholes)
        wholes += [place] if is_dataclass(kept) else []
        try:
            case = place.put(case, kept)
        except InputError as refusal:
            return refusal
    return case


def _check_not_said(place: Place, value: Any, case: Case, wholes: Sequence[Place]) -> None:
    """Refuse a number that a whole of the same point says otherwise."""
    for one in wholes:
        said = place.held(case)
        if place.steps[: len(one.steps)] == one.steps and said is not None and said != value:
            raise InputError(
                f"{_OWNER}: {place.short} is {told(value)}, and {one.short} of the same point has "
                f"{told(said)} there; a point must say one of them. Leave out {place.short}, or "
                f"give {one.short} with all its numbers as a list of points."
            )


def _unit(unit: str, rows: Sequence[Mapping[str, object]], name: str) -> str:
    """None where a name holds anything but numbers and nothing."""
    plain = all(row[name] is None or is_number(row[name]) for row in rows)
    return unit if plain else ""


def is_number(value: object) -> bool:
    """Whether it is a real number, and no truth value."""
    return isinstance(value, Real) and not isinstance(value, bool)


def as_told(value: object) -> Any:
    """A value as a table and a file hold it: numbers and texts as they are, all else in words."""
    value = value.item() if isinstance(value, np.generic) else value
    if value is None or isinstance(value, bool | int | float | str):
        return value
    text = str(value)
    return text if "\n" not in text and len(text) < 100 else told(value)
