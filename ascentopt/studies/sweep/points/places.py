"""What may be varied: every field below a vehicle and a mission, by its place.

Places are those of `baselines`, of errors in description files and of the classes themselves:
``vehicle.stages[0].engine.vacuum_thrust``. In short the first word may be left out where the rest
tells, and a stage or a group of boosters goes by its name, without the list that it stands in:
``first.engine.vacuum_thrust``. ``first.thrust`` stands for all thrusts of the part in proportion,
as in the partials.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from typing import Any, get_type_hints

import numpy as np

from ascentopt.arguments.annotations import kind_of
from ascentopt.arguments.kinds import Flag, Kind, Misfit, Number, Text
from ascentopt.descriptions.schema.dimensions import DIMENSIONS
from ascentopt.errors import InputError
from ascentopt.optimal.perturbations import Case, stronger
from ascentopt.rocket import BoosterGroup, Stage
from ascentopt.telling import meant, told
from ascentopt.validation import positive
from ascentopt.world import SmoothTable, Wind

Step = str | int

THRUST = "thrust"
"""Of a part: its mean thrust in vacuum, N, and all its other thrusts in proportion."""

_ROOTS = ("vehicle", "mission")
_PARTS = ("stages", "boosters")
_CURVES = (SmoothTable, Wind)


@dataclass(frozen=True, kw_only=True)
class Place:
    """Where a value stands below a vehicle and a mission.

    Attributes:
        steps: fields, and numbers within lists, from the case down.
        unit: of the SI; "-" for a number without one, empty for what is no number.
        kind: what fits there.
        short: the shortest of its names.
    """

    steps: tuple[Step, ...]
    unit: str
    kind: Kind
    short: str

    @property
    def name(self) -> str:
        """In full, as baselines have it."""
        return _dotted(self.steps)

    def fitting(self, owner: str, value: object) -> Any:
        """The value as it is kept. Raises `InputError` for one of another kind."""
        try:
            return self.kind.keep(value.item() if isinstance(value, np.generic) else value)
        except Misfit as misfit:
            raise InputError(
                f"{owner}{misfit.place} is {told(misfit.value)}; it must be {misfit.rule}. "
                f"{misfit.fix}"
            ) from None

    def held(self, case: Case) -> Any:
        """What stands there, or the mean thrust of a part."""
        found: Any = case
        for step in self.steps:
            if step == THRUST and isinstance(found, Stage | BoosterGroup):
                return found.engine.mean_thrust
            found = found[step] if isinstance(step, int) else getattr(found, step)
        return found

    def put(self, case: Case, value: Any) -> Case:
        """The case with this value there, all else as it was. Raises `InputError` as it does."""
        changed: Case = _with(case, self.steps, value)
        return changed


def place_named(owner: str, name: str, case: Case) -> Place:
    """The place that a name stands for in a case.

    Raises:
        InputError: for a name of nothing; names the nearest, and what names there are.
    """
    places = reversed([*_places(case)])
    known = {alias: place for place in places for alias in _aliases(place, case)}
    if name in known:
        return known[name]
    stages = [one.name for one in case.vehicle.stages]
    parts = [*stages, *(one.name for one in case.vehicle.boosters)]
    raise InputError(
        f"{owner}: {name!r} is no number or part of {case.vehicle.name!r} or its mission; it must "
        "be the place of a field below one of the two, such as payload_mass, orbit.altitude or "
        f"limits.dynamic_pressure, or below one of the parts {', '.join(parts)}, such as "
        f"{parts[0]}.dry_mass. {meant(name, known, 'Write one of them.')}"
    )


def _places(case: Case) -> Iterator[Place]:
    """Everything that may be exchanged, what is above before what is below."""
    for root in _ROOTS:
        kind = kind_of(type(getattr(case, root)), finite=True)
        yield _place(case, (root,), "", kind)
        yield from _below(case, (root,), getattr(case, root))


def _below(case: Case, steps: tuple[Step, ...], owner: Any) -> Iterator[Place]:
    own: type = type(owner)
    units = DIMENSIONS.get(own, {})
    for name, kind in _exchangeable(own):
        value, here = getattr(owner, name), (*steps, name)
        yield _place(case, here, units.get(name, ""), kind, numeric=_takes_numbers(kind))
        if is_dataclass(value) and not isinstance(value, _CURVES):
            yield from _below(case, here, value)
        elif isinstance(value, tuple):
            for index, part in enumerate(one for one in value if is_dataclass(one)):
                yield _place(case, (*here, index), "", kind_of(type(part), finite=True))
                yield from _below(case, (*here, index), part)
    if isinstance(owner, Stage | BoosterGroup):
        yield _place(case, (*steps, THRUST), "N", Number(finite=True))


@cache
def _exchangeable(owner: type) -> tuple[tuple[str, Kind], ...]:
    """Fields of a description and what fits them, but for names and what it notes for itself."""
    hints = get_type_hints(owner)
    found = ((one.name, kind_of(hints[one.name], finite=True)) for one in fields(owner))
    return tuple((name, kind) for name, kind in found if not isinstance(kind, Text | Flag))


def _takes_numbers(kind: Kind) -> bool:
    return kind.fits(1.0) or kind.fits(1)


def _place(
    case: Case, steps: tuple[Step, ...], unit: str, kind: Kind, *, numeric: bool = False
) -> Place:
    shown = unit or ("-" if numeric else "")
    return Place(steps=steps, unit=shown, kind=kind, short=_short(case, steps))


def _short(case: Case, steps: tuple[Step, ...]) -> str:
    if len(steps) > 2 and isinstance(steps[2], int):
        return _dotted((_part(case, steps).name, *steps[3:]))
    return _dotted(steps[1:] or steps)


def _part(case: Case, steps: tuple[Step, ...]) -> Stage | BoosterGroup:
    found: Stage | BoosterGroup = getattr(case.vehicle, str(steps[1]))[steps[2]]
    return found


def _aliases(place: Place, case: Case) -> Iterator[str]:
    """All its names; those that a part's name could be taken for come first."""
    steps = place.steps
    yield place.short
    if steps[1:3] and steps[1] in _PARTS and len(steps) > 2:
        by_name = (steps[1], _part(case, steps).name, *steps[3:])
        yield from (_dotted(by_name), _dotted((steps[0], *by_name)))
    yield from (_dotted(steps[1:] or steps), place.name)


def _dotted(steps: tuple[Step, ...]) -> str:
    text = "".join(f"[{one}]" if isinstance(one, int) else f".{one}" for one in steps)
    return text.removeprefix(".")


def _with(owner: Any, steps: tuple[Step, ...], value: Any) -> Any:
    """The owner with a value at the end of some steps."""
    if not steps:
        return value
    first, *rest = steps
    if isinstance(first, int):
        changed = _with(owner[first], tuple(rest), value)
        return (*owner[:first], changed, *owner[first + 1 :])
    if first == THRUST and isinstance(owner, Stage | BoosterGroup):
        return _stronger(owner, value)
    return replace(owner, **{first: _with(getattr(owner, first), tuple(rest), value)})


def _stronger(part: Stage | BoosterGroup, thrust: float) -> Stage | BoosterGroup:
    positive(f"{type(part).__name__} {part.name!r}", THRUST, thrust, "N", "Give it in newtons.")
    return replace(part, engine=stronger(part.engine, thrust / part.engine.mean_thrust))
