"""Tables and the CSV that they are written as."""

from __future__ import annotations

import csv
from io import StringIO
from math import inf, nan
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given

from ascentopt.errors import InputError
from ascentopt.tables import Cell, Column, Table
from tests.tables.tables import tables


def comment_lines(table: Table) -> int:
    return sum(len(note.splitlines()) or 1 for note in table.notes)


def written(cell: Cell) -> str:
    return "" if cell is None else repr(cell) if isinstance(cell, float) else str(cell)


@given(tables())
def test_csv_read_back_is_the_table_to_the_last_bit(table: Table) -> None:
    body = table.csv.split("\r\n", comment_lines(table))[-1]
    head, *rows = csv.reader(StringIO(body, newline=""), strict=True)
    assert tuple(head) == table.headers
    assert [tuple(row) for row in rows] == [tuple(map(written, row)) for row in table.rows]
    for row, cells in zip(rows, table.rows, strict=True):
        for text, cell in zip(row, cells, strict=True):
            if isinstance(cell, float):
                assert float(text).hex() == cell.hex()


@given(tables())
def test_notes_are_comments_and_nothing_else_is(table: Table) -> None:
    lines = table.csv.split("\r\n")
    count = comment_lines(table)
    assert all(line.startswith("#") for line in lines[:count])
    assert not lines[count].startswith("#")


@given(tables())
def test_numbers_have_their_unit_in_the_head(table: Table) -> None:
    for k, (column, header) in enumerate(zip(table.columns, table.headers, strict=True)):
        if any(isinstance(row[k], float) for row in table.rows):
            assert header == f"{column.name} [{column.unit}]"


def test_a_table_reads_as_one() -> None:
    table = Table.of(
        "flights", [("name", ""), ("time", "s"), ("count", "")],
        [("a, b", np.float64(0.1), np.int64(3)), ('the "best"', nan, 0), (None, -inf, True)],
    )  # fmt: skip
    assert table.csv == (
        'name,time [s],count\r\n"a, b",0.1,3\r\n"the ""best""",nan,0\r\n,-inf,True\r\n'
    )
    assert table["time"][0] == 0.1
    assert len(table) == 3
    assert repr(table) == "Table('flights', 3 columns, 3 rows)"


def test_numbers_without_a_unit_are_refused() -> None:
    with pytest.raises(InputError, match=r"column 'mass' holds 1.0 and has no unit.*Give it"):
        Table.of("masses", [("mass", "")], [(1.0,)])


def test_columns_that_cannot_be_told_apart_are_refused() -> None:
    with pytest.raises(InputError, match=r"columns are \['a', 'a'\].*own name"):
        Table.of("two", [("a", "m"), ("a", "s")], [])
    with pytest.raises(InputError, match="at least one"):
        Table.of("none", [], [])
    with pytest.raises(InputError, match="name is ''"):
        Column(name="")


def test_rows_of_another_length_are_refused() -> None:
    with pytest.raises(InputError, match="a row has 1 cells; it must have 2"):
        Table.of("short", [("a", "m"), ("b", "s")], [(1.0,)])


def test_an_unknown_column_is_named() -> None:
    with pytest.raises(KeyError, match=r"no column 'c'; there are \['a'\]"):
        Table.of("one", [("a", "m")], [])["c"]


def test_a_file_is_written_whole(tmp_path: Path) -> None:
    table = Table.of("times", [("time", "s")], [(0.1 + 0.2,)], notes=["from a test"])
    table.to_csv(tmp_path / "times.csv")
    written_so = b"# from a test\r\ntime [s]\r\n0.30000000000000004\r\n"
    assert (tmp_path / "times.csv").read_bytes() == written_so
    assert [path.name for path in tmp_path.iterdir()] == ["times.csv"]


@pytest.mark.parametrize("place", ["missing/times.csv", "file/times.csv", "a\0b.csv"])
def test_where_nothing_can_be_written_the_error_names_path_and_fix(
    place: str, tmp_path: Path
) -> None:
    (tmp_path / "file").write_text("kept")
    path = tmp_path / place
    with pytest.raises(InputError, match=r"cannot be written.*Give another path") as refused:
        Table.of("times", [("time", "s")], []).to_csv(path)
    assert repr(str(path)) in str(refused.value)
    assert [one.name for one in tmp_path.iterdir()] == ["file"]
    assert (tmp_path / "file").read_text() == "kept"


@pytest.mark.parametrize("path", [None, 3, b"times.csv"])
def test_what_is_no_path_is_refused(path: object) -> None:
    with pytest.raises(InputError, match=r"to_csv: path is .*must be the path of a file"):
        Table.of("times", [("time", "s")], []).to_csv(path)  # type: ignore[arg-type]


def test_a_text_that_no_file_takes_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"surrogates.*Give another path"):
        Table.of("names", [("name", "")], [("\ud800",)]).to_csv(tmp_path / "names.csv")
    assert list(tmp_path.iterdir()) == []
