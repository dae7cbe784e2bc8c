"""Two sides of a sweep with a quantity over them, for its figures."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np

from ascentopt.errors import InputError
from ascentopt.studies.sweep.points.grid import as_told, is_number
from ascentopt.studies.sweep.swept import Sweep, as_words, plain
from ascentopt.tables.shown import head_shown, shown_number
from ascentopt.telling import meant, told
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False)
class Side:
    """What is varied along a side.

    Attributes:
        name, unit: as people read them.
        values: (k,) in that unit; their places 0, 1, ... where they are no numbers.
        texts: of each value with its unit.
        numeric: whether they are numbers.
    """

    name: str
    unit: str
    values: Floats
    texts: tuple[str, ...]
    numeric: bool = True

    @property
    def label(self) -> str:
        """Of an axis."""
        return f"{self.name}, {self.unit}" if self.unit else self.name


@dataclass(frozen=True, eq=False)
class SweepSides:
    """A sweep over two names, the others held.

    Attributes:
        across, upward: the sides.
        numbers: (across, upward) the quantity in shown units; nan where there is none.
        points: (across, upward) numbers of the points.
        label: of the quantity.
        held: what is held, in words; empty where nothing is.
    """

    across: Side
    upward: Side
    numbers: Floats
    points: np.ndarray
    label: str
    held: str

    @property
    def flies(self) -> np.ndarray:
        """(across, upward) whether there is a number."""
        return np.asarray(np.isfinite(self.numbers))


def sides_of(
    owner: str,
    sweep: Sweep,
    quantity: str,
    across: str | None,
    upward: str | None,
    held: Mapping[str, object],
) -> SweepSides:
    """Lay out a sweep over two of its names.

    Args:
        owner: the figure, for errors.
        sweep: over a grid.
        quantity: a column of its table.
        across, upward: names; None for the first that have more than one value.
        held: of every other name with more than one value the value that is drawn.

    Raises:
        InputError: for a list of points, an unknown name, one that is neither drawn nor held, or
            no flight at all.
    """
    if not sweep.shape:
        raise InputError(
            f"{owner}: sweep is over a list of {len(sweep)} points; it must be over a grid. Sweep "
            "a dict of rows, or take sweep.to_table()."
        )
    names = [one.name for one in sweep.names]
    for what, name in (("across", across), ("upward", upward), *(("held", one) for one in held)):
        if name is not None and name not in names:
            fix = meant(name, names, f"Take {names[0]!r}.")
            raise InputError(
                f"{owner}: {what} is {name!r}; it must be one of {', '.join(names)}. {fix}"
            )
    free = [name for name, size in zip(names, sweep.shape, strict=True)
            if size > 1 and name not in (across, upward, *held)]  # fmt: skip
    across = across or (free.pop(0) if free else names[0])
    upward = upward or (free.pop(0) if free else "")
    if free:
        raise InputError(
            f"{owner}: {free[0]} is neither drawn nor held; it must be one of the two. Write, for "
            f"instance, held={{{free[0]!r}: {_values(sweep, names.index(free[0]))[0]!r}}}."
        )
    return _laid_out(owner, sweep, quantity, (across, upward), held)


def _laid_out(
    owner: str, sweep: Sweep, quantity: str, drawn: tuple[str, str], held: Mapping[str, object]
) -> SweepSides:
    names = [one.name for one in sweep.names]
    column = sweep.column(quantity)
    unit = next(one.unit for one in sweep.to_table().columns if one.name == quantity)
    if not np.any(np.isfinite(column)):
        raise InputError(
            f"{owner}: sweep has no {quantity} at any of its points; there is nothing to draw. "
            "Widen the grid, or read sweep.to_table() for why nothing flies."
        )
    place: list[int | slice] = [
        slice(None) if name in drawn else _index(owner, sweep, k, held.get(name))
        for k, name in enumerate(names)
    ]
    order = [one for one in names if one in drawn]
    numbers: Floats = np.reshape(column, sweep.shape)[tuple(place)]
    points = np.reshape(np.arange(len(sweep)), sweep.shape)[tuple(place)]
    if len(order) < 2:
        numbers, points = numbers[:, None], points[:, None]
    elif order[0] != drawn[0]:
        numbers, points = numbers.T, points.T
    kept = {k: name for k, name in enumerate(names) if name not in drawn and sweep.shape[k] > 1}
    texts = (f"{plain(name)} {_side(sweep, k).texts[int(place[k])]}" for k, name in kept.items())  # type: ignore[arg-type]
    none = Side(name="", unit="", values=np.zeros(1), texts=("",))
    return SweepSides(
        across=_side(sweep, names.index(drawn[0])),
        upward=_side(sweep, names.index(drawn[1])) if drawn[1] else none,
        numbers=np.asarray(numbers * shown_number(1.0, unit)),
        points=points,
        label=", ".join(filter(None, head_shown(quantity, unit))),
        held=", ".join(texts),
    )


def _values(sweep: Sweep, index: int) -> list[object]:
    """The values of a name, in the order of the grid."""
    points = np.moveaxis(np.reshape(np.arange(len(sweep)), sweep.shape), index, 0)
    first = np.reshape(points, (sweep.shape[index], -1))[:, 0]
    return [sweep.values[point][index] for point in first.tolist()]


def _index(owner: str, sweep: Sweep, index: int, value: object) -> int:
    values = _values(sweep, index)
    if len(values) == 1:
        return 0
    if as_told(value) not in values:
        name = sweep.names[index].name
        raise InputError(
            f"{owner}: held has {told(value)} for {name}; it must be one of its values, "
            f"{told(values)}. Take one of these."
        )
    return values.index(as_told(value))


def _side(sweep: Sweep, index: int) -> Side:
    one, values = sweep.names[index], _values(sweep, index)
    if not one.unit or not all(map(is_number, values)):
        places, words = np.arange(len(values), dtype=np.float64), tuple(map(as_words, values))
        return Side(name=plain(one.name), unit="", values=places, texts=words, numeric=False)
    unit = head_shown("", one.unit)[1]
    numbers: Floats = np.array(values, dtype=np.float64) * shown_number(1.0, one.unit)
    texts = tuple(f"{x:.5g} {unit}".rstrip() for x in numbers)
    return Side(name=plain(one.name), unit=unit, values=numbers, texts=texts)
