"""Rows and columns: what every result can be written as."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.files import path_given, write_whole
from ascentopt.tables.csv_text import csv_text
from ascentopt.tables.html import block, table
from ascentopt.tables.one_line import one_line
from ascentopt.tables.shown import Cell, head_shown, shown
from ascentopt.validation import instance, named

_MOST_ROWS = 30
"""That HTML shows; of more it shows the first and the last."""


@dataclass(frozen=True, kw_only=True)
class Column:
    """Name and unit of a column. The unit is SI; "-" for a number without one, empty for texts."""

    name: str
    unit: str = ""

    def __post_init__(self) -> None:
        named("Column", self.name, "Give the column a name.")
        instance("Column", "unit", self.unit, (str,), 'Give a unit as text, "-" for none.')

    @property
    def header(self) -> str:
        """As files and data frames have it: the name, and the unit in square brackets."""
        return f"{self.name} [{self.unit}]" if self.unit else self.name


@dataclass(frozen=True, kw_only=True)
class Table:
    """Rows and columns with names and units. Raises `InputError`.

    Args:
        title: what it shows.
        columns: at least one, of different names. One that holds floats has a unit.
        rows: as many cells as there are columns in each.
        notes: lines that explain it; `to_csv` writes them as comments above the head.
    """

    title: str
    columns: Sequence[Column]
    rows: Sequence[Sequence[Cell]]
    notes: Sequence[str] = ()

    def __post_init__(self) -> None:
        object.__setattr__(self, "columns", tuple(self.columns))
        object.__setattr__(self, "notes", tuple(self.notes))
        object.__setattr__(self, "rows", tuple(map(_plain_row, self.rows)))
        self._check_names()
        for row in self.rows:
            self._check_row(row)

    @classmethod
    def of(
        cls,
        title: str,
        columns: Iterable[tuple[str, str]],
        rows: Iterable[Sequence[object]],
        notes: Sequence[str] = (),
    ) -> Table:
        """The same from pairs of name and unit; cells may be NumPy's."""
        made = tuple(Column(name=name, unit=unit) for name, unit in columns)
        return cls(title=title, columns=made, rows=tuple(map(_plain_row, rows)), notes=notes)

    def _check_names(self) -> None:
        names = [column.name for column in self.columns]
        if not names or len(set(names)) < len(names):
            raise InputError(
                f"Table {self.title!r}: columns are {names}; there must be at least one, and no "
                "name twice. Give each its own name."
            )

    def _check_row(self, row: Sequence[Cell]) -> None:
        if len(row) != len(self.columns):
            raise InputError(
                f"Table {self.title!r}: a row has {len(row)} cells; it must have "
                f"{len(self.columns)}, one for each column. Give each column a cell, or None."
            )
        for column, cell in zip(self.columns, row, strict=True):
            if isinstance(cell, float) and not column.unit:
                raise InputError(
                    f"Table {self.title!r}: column {column.name!r} holds {cell!r} and has no "
                    'unit; numbers must have one. Give it, or "-" for a number without.'
                )

    def __len__(self) -> int:
        """Number of rows."""
        return len(self.rows)

    def __getitem__(self, name: str) -> tuple[Cell, ...]:
        """The cells of a column, by its name without unit; KeyError with the names there are."""
        names = [column.name for column in self.columns]
        if name not in names:
            raise KeyError(f"no column {name!r}; there are {names}")
        return tuple(row[names.index(name)] for row in self.rows)

    def __repr__(self) -> str:
        return one_line(self, repr(self.title), f"{len(self.columns)} columns, {len(self)} rows")

    @property
    def headers(self) -> tuple[str, ...]:
        """Name and unit of each column, for instance "time [s]"."""
        return tuple(column.header for column in self.columns)

    @property
    def csv(self) -> str:
        """What `to_csv` writes."""
        return csv_text(self.notes, self.headers, self.rows)

    def to_csv(self, path: str | Path) -> None:
        """Write CSV: a head with names and units, and floats to the last bit.

        Raises:
            InputError: where the file cannot be written.
        """
        write_whole("to_csv", path_given("to_csv", path), self.csv)

    def to_dataframe(self) -> Any:
        """A `pandas.DataFrame` with the columns of the CSV file; the title is in its `attrs`.

        Raises:
            InputError: where pandas is not installed.
        """
        try:
            import pandas as pd
        except ImportError:
            raise InputError(
                "to_dataframe: pandas is not installed; it must be, for data frames. Install it, "
                "for instance with: pip install 'ascentopt[dataframes]'. to_csv needs nothing."
            ) from None
        columns = zip(*self.rows, strict=True) if self.rows else ((),) * len(self.columns)
        frame = pd.DataFrame(dict(zip(self.headers, map(_filled, columns), strict=True)))
        frame.attrs["title"] = self.title
        return frame

    def fragment(self) -> str:
        """HTML of the table alone, its title above it; of many rows the first and last."""
        numeric = [any(_is_number(row[k]) for row in self.rows) for k in range(len(self.columns))]
        heads = [head_shown(column.name, column.unit) for column in self.columns]
        left_out = len(self) - _MOST_ROWS
        rows = [[shown(c, column.unit) for c, column in zip(row, self.columns, strict=True)]
                for row in (self.rows if left_out <= 0 else self._ends())]  # fmt: skip
        if left_out > 0:
            rows.insert(_MOST_ROWS // 2, ["…"] * len(self.columns))
        more = f" ({len(self)} rows, {left_out} of them not shown)" if left_out > 0 else ""
        return table(self.title + more, heads, rows, numeric)

    def _ends(self) -> Sequence[Sequence[Cell]]:
        half = _MOST_ROWS // 2
        return (*self.rows[:half], *self.rows[half - _MOST_ROWS :])

    def _repr_html_(self) -> str:
        return block("", self.notes, [self.fragment()])


class Tabular(ABC):
    """What can be written as a table."""

    @abstractmethod
    def to_table(self) -> Table:
        """As a table, in SI units."""

    def to_csv(self, path: str | Path) -> None:
        """Write `to_table` as CSV: a head with names and units, floats to the last bit, SI units.

        Raises:
            InputError: where the file cannot be written.
        """
        self.to_table().to_csv(path)

    def to_dataframe(self) -> Any:
        """`to_table` as a `pandas.DataFrame`, its columns named as in the CSV file.

        Raises:
            InputError: where pandas is not installed.
        """
        return self.to_table().to_dataframe()

    def _repr_html_(self) -> str:
        return self.to_table()._repr_html_()


def _plain_row(row: Iterable[object]) -> tuple[Cell, ...]:
    return tuple(map(_plain, row))


def _plain(cell: object) -> Cell:
    """A Python number or text; anything else is told as text."""
    value = cell.item() if isinstance(cell, np.generic) else cell
    if isinstance(value, float):
        return float(value)
    return value if value is None or isinstance(value, bool | int | str) else str(value)


def _is_number(cell: Cell) -> bool:
    return isinstance(cell, float | int) and not isinstance(cell, bool)


def _filled(cells: Iterable[Cell]) -> list[Cell]:
    """Nothing is NaN in a column of numbers, and stays nothing among texts."""
    kept = list(cells)
    if any(isinstance(cell, str | bool) for cell in kept):
        return kept
    return [float("nan") if cell is None else cell for cell in kept]
