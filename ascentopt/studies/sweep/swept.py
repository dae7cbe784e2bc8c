"""A sweep, as the user is given it."""

from __future__ import annotations

import re
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any, ClassVar

import numpy as np

from ascentopt.arguments import checked_kinds, told
from ascentopt.errors import InputError
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.mission import Mission
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import SavedResult
from ascentopt.rocket import Vehicle
from ascentopt.studies.sweep.answer import PointOutcome, SweepAnswer
from ascentopt.studies.sweep.points.grid import SweptName, as_told, is_number
from ascentopt.studies.sweep.store import ascent_in
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.tables.shown import head_shown, shown
from ascentopt.telling import meant
from ascentopt.typing import Floats
from ascentopt.validation import require, within

_MOST_REASONS = 5
_NUMBER = re.compile(r"\d+(?:\.\d+)?(?:e[-+]?\d+)?")
_OWN = (
    ("point", "-"), ("outcome", ""), ("propellant_used", "kg"), ("propellant_margin", "kg"),
    ("ballast", "kg"), ("final_mass", "kg"), ("flight_time", "s"), ("plan", ""), ("verdict", ""),
    ("shortfall", "m/s"), ("payload_that_flies", "kg"), ("limits_in_the_way", ""), ("reason", ""),
    ("solved_from", "-"), ("solves", "-"),
)  # fmt: skip
"""Columns beside those of what is varied."""


@checked_kinds
@dataclass(frozen=True, eq=False, kw_only=True)
class Sweep(SavedResult, Tabular):
    """Ascents over a grid or a list of points.

    Args:
        vehicle, mission: that were varied.
        names: what was varied.
        values: of each point one for each name, numbers or words.
        shape: how many values each name has in a grid, the last one running fastest; empty for a
            list of points.
        answers: the answer that stands for each point; None where it is not solved yet.
        solves: how many solves were made for each point.
        store: the folder that holds the ascents; empty where they are kept here.
        ascents: of each point, None where it does not fly; empty where the folder holds them.
    """

    vehicle: Vehicle
    mission: Mission
    names: tuple[SweptName, ...]
    values: tuple[tuple[object, ...], ...]
    shape: tuple[int, ...]
    answers: tuple[SweepAnswer | None, ...]
    solves: tuple[int, ...]
    store: str = ""
    ascents: tuple[Ascent | None, ...] = ()

    _form: ClassVar = "sweep"

    def __post_init__(self) -> None:
        super().__post_init__()
        count, fix = len(self.values), "Give one for each point."
        for name in ("answers", "solves"):
            found = len(getattr(self, name))
            rule = f"{count}, the number of points"
            require("Sweep", f"length of {name}", found, "", rule, fix, holds=found == count)
        for point, one in enumerate(self.values):
            require("Sweep", f"values[{point}]", one, "", f"{len(self.names)} of them",
                    "Give one for each name.", holds=len(one) == len(self.names))  # fmt: skip
        full = int(np.prod(self.shape)) if self.shape else count
        require("Sweep", "shape", self.shape, "", f"a grid of {count} points", fix,
                holds=full == count and len(self.shape) in (0, len(self.names)))  # fmt: skip

    def __len__(self) -> int:
        """Number of points."""
        return len(self.values)

    @property
    def missing(self) -> tuple[int, ...]:
        """Points that are not solved yet."""
        return tuple(point for point, one in enumerate(self.answers) if one is None)

    @property
    def flying(self) -> tuple[int, ...]:
        """Points that fly."""
        return tuple(point for point, one in enumerate(self.answers) if one and one.flies)

    def point(self, values: Mapping[str, object]) -> int:
        """The number of the point with these values of all names.

        Raises:
            InputError: where there is none.
        """
        names = [one.name for one in self.names]
        given = tuple(as_told(values.get(name)) for name in names)
        for point, own in enumerate(self.values):
            if {*values} == {*names} and own == given:
                return point
        first = dict(zip(names, self.values[0], strict=True))
        raise InputError(
            f"Sweep.point: values is {told(values)}; it must hold a value of the sweep for each of "
            f"{', '.join(names)}. Write, for instance, {first}."
        )

    def ascent(self, point: int | Mapping[str, object]) -> Ascent:
        """The ascent of a point, by its number or its values.

        Raises:
            InputError: where it does not fly, or the folder with the ascents is gone.
        """
        number = point if isinstance(point, int) else self.point(point)
        within("Sweep.ascent", "point", number, "", (0, len(self) - 1), "Give a point's number.")
        answer = self.answers[number]
        if answer is None or not answer.flies:
            why = "it is not solved yet" if answer is None else answer.reason
            raise InputError(
                f"Sweep.ascent: point is {number}; it must be one that flies. {why} Take one of "
                f"{told(list(self.flying))}."
            )
        kept = self.ascents[number] if self.ascents else None
        return kept or ascent_in(Path(self.store), (number, answer.serial))

    def column(self, quantity: str) -> Floats:
        """(points,) numbers of a column of the table, by its name; nan where there are none.

        Raises:
            InputError: for a name that no column of numbers has.
        """
        table = self.to_table()
        numeric = [one.name for one in table.columns if one.unit]
        if quantity not in numeric:
            fix = meant(quantity, numeric, f"Take {numeric[0]!r}.")
            raise InputError(
                f"Sweep.column: quantity is {quantity!r}; it must be one of {', '.join(numeric)}. "
                f"{fix}"
            )
        return np.array([np.nan if x is None else x for x in table[quantity]], dtype=np.float64)

    def to_table(self) -> Table:
        """A row for each point: its values, how it came out, and why where it does not fly.

        Columns of what is varied are called after it; one that the table itself has is followed by
        ``, varied``.
        """
        return self._table(())

    def table_with_partials(self, quantities: Sequence[str]) -> Table:
        """As `to_table`, with a column for each partial: kg more that are left for one unit more.

        Raises:
            InputError: for a quantity of which no point has a partial.
        """
        for one in quantities:
            known = sorted({row.quantity for row in self._partials()})
            if one not in known:
                raise InputError(
                    f"Sweep: quantities holds {one!r}; it must be one of {', '.join(known)}. "
                    f"{meant(one, known, 'Leave it out.')}"
                )
        return self._table(tuple(quantities))

    def _partials(self) -> Iterator[Any]:
        for answer in self.answers:
            if answer is not None and answer.partials is not None:
                yield from answer.partials

    def _table(self, quantities: tuple[str, ...]) -> Table:
        own = {name for name, _ in _OWN}
        sides = [
            (f"{one.name}, varied" if one.name in own else one.name, one.unit) for one in self.names
        ]
        units = {one.quantity: one.unit for one in self._partials()}
        beside = [(f"margin per {one}", f"kg per {units[one]}") for one in quantities]
        rows = [self._row(point, quantities) for point in range(len(self))]
        title = f"{self.vehicle.name} over {', '.join(one.name for one in self.names)}"
        return Table.of(title, [*sides, *_OWN, *beside], rows)

    def _row(self, point: int, quantities: tuple[str, ...]) -> list[object]:
        values = [as_words(x) if not one.unit else x
                  for x, one in zip(self.values[point], self.names, strict=True)]  # fmt: skip
        one = self.answers[point]
        if one is None:
            nothing = [None] * (len(_OWN) - 3)
            return [*values, point, "not solved yet", *nothing, 0, *(None for _ in quantities)]
        near = one.near[0] if one.near else None
        partials = {row.quantity: row.margin for row in one.partials or ()}
        return [
            *values, point, one.outcome.value, one.propellant_used, one.propellant_margin,
            one.ballast, one.final_mass, one.flight_time, one.plan, one.verdict, one.shortfall,
            one.lighter, "; ".join(one.in_the_way), one.reason, near, self.solves[point],
            *(partials.get(name) for name in quantities),
        ]  # fmt: skip

    def verify(self) -> Verification:
        """As `Ascent.verify` of every ascent, which must be what its row says.

        A flight for each takes some tenths of a second.
        """
        found = Verification(subject="sweep", checks=tuple(self._row_checks()))
        for point in self.flying:
            found = found.with_part(self.ascent(point).verify())
        return found

    def _row_checks(self) -> Iterator[Check]:
        for point in self.flying:
            answer, ascent = self.answers[point], self.ascent(point)
            for what in ("propellant_used", "propellant_margin", "final_mass"):
                yield Check(
                    quantity=f"point {point}: {what.replace('_', ' ')}",
                    kept=float(getattr(answer, what)),
                    found=float(getattr(ascent, what)),
                    tolerance=MEASURED,
                    unit="kg",
                )

    def in_folder(self, folder: str | Path) -> Sweep:
        """The same with its ascents in another folder, where the store was moved."""
        return replace(self, store=str(folder))

    @property
    def subject(self) -> str:
        """What was varied, in words."""
        return f"{self.vehicle.name} over {' and '.join(map(name_text, self.names))}"

    def point_text(self, point: int) -> str:
        """The values of a point, in words."""
        return point_text(self.names, self.values[point])

    def __repr__(self) -> str:
        shape = " x ".join(map(str, self.shape)) or str(len(self))
        return one_line(self, self.subject, f"{shape} points", f"{len(self.flying)} fly")

    def _repr_html_(self) -> str:
        return page(self.subject, str(self).splitlines()[1:]) + self.to_table()._repr_html_()

    def __str__(self) -> str:
        """How many fly, the best, structures, and why others do not fly."""
        outcomes = Counter(one.outcome for one in self.answers if one is not None)
        counts = [f"{outcomes[kind]} {_COUNTED[kind]}" for kind in PointOutcome if outcomes[kind]]
        lines = [f"{self.subject}: {len(self)} points, {', '.join(counts) or 'none solved'}"]
        lines += [f"{len(self.missing)} points are not solved yet"] if self.missing else []
        plans = Counter(one.plan for one in self.answers if one and one.flies)
        lines += [f"{count} fly: {plan}" for plan, count in plans.most_common()]
        lines += self._extremes()
        return "\n".join([*lines, *self._reasons(), "Preliminary analysis only."])

    def _reasons(self) -> Iterator[str]:
        """Why points do not fly; reasons that differ in their numbers only are one, told by one."""
        alike: dict[str, list[str]] = {}
        for one in self.answers:
            if one is not None and not one.flies:
                alike.setdefault(_NUMBER.sub("#", one.reason), []).append(one.reason)
        ranked = sorted(alike.values(), key=len, reverse=True)
        for reasons in ranked[:_MOST_REASONS]:
            told_by = "" if len({*reasons}) == 1 else ", for instance"
            yield f"{len(reasons)} do not{told_by}: {reasons[0]}"
        if len(ranked) > _MOST_REASONS:
            yield f"and {len(ranked) - _MOST_REASONS} more reasons"

    def _extremes(self) -> list[str]:
        kept = [(one.left, k) for k, one in enumerate(self.answers) if one and one.flies]
        if not kept:
            return []
        (least, low), (most, high) = min(kept), max(kept)
        return [
            f"most left: {most:.2f} kg with {self.point_text(high)}",
            f"least left: {least:.2f} kg with {self.point_text(low)}",
        ]


_COUNTED = {
    PointOutcome.FLIES: "fly",
    PointOutcome.REFUSED: "refused",
    PointOutcome.WRONG_INPUT: "of wrong input",
}


def plain(name: str) -> str:
    """A place in words: the orbit's altitude, and not a path."""
    return name.replace("_", " ").replace(".", ": ", 1).replace(".", " ")


def name_text(one: SweptName) -> str:
    """What is varied, in words, with the unit that people read it in."""
    unit = head_shown("", one.unit)[1] if one.unit not in ("", "-") else ""
    return ", ".join(filter(None, (plain(one.name), unit)))


def as_words(value: object) -> str:
    """A value of what holds more than numbers."""
    return "none" if value is None else str(value)


def point_text(names: Sequence[SweptName], values: Sequence[object]) -> str:
    """The values of a point, in words."""
    return ", ".join(_value_text(*pair) for pair in zip(names, values, strict=True))


def _value_text(name: SweptName, value: object) -> str:
    if not is_number(value):
        return f"{name.name} {as_words(value)}"
    number = shown(float(value), name.unit)  # type: ignore[arg-type]
    return f"{name.name} {number} {head_shown('', name.unit)[1]}".rstrip()
