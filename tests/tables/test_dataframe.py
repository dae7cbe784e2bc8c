"""Tables as data frames."""

from __future__ import annotations

import sys
from io import StringIO

import numpy as np
import pytest

from ascentopt.errors import InputError
from ascentopt.tables import Table

TABLE = Table.of(
    "flights",
    [("name", ""), ("time", "s"), ("mass", "kg"), ("stages", "")],
    [("first", 0.1 + 0.2, 7.0, 2), ("second", 1e300, None, 3)],
    notes=["a, comment"],
)


def test_a_frame_is_what_pandas_reads_from_the_file() -> None:
    pd = pytest.importorskip("pandas")
    read = pd.read_csv(StringIO(TABLE.csv), comment="#")
    frame = TABLE.to_dataframe()
    pd.testing.assert_frame_equal(frame, read, rtol=1e-15)
    assert list(frame.columns) == ["name", "time [s]", "mass [kg]", "stages"]
    assert frame["mass [kg]"].dtype == np.float64
    assert frame.attrs["title"] == "flights"


def test_a_table_without_rows_has_its_columns() -> None:
    pytest.importorskip("pandas")
    frame = Table.of("none", [("time", "s")], []).to_dataframe()
    assert list(frame.columns) == ["time [s]"]
    assert len(frame) == 0


def test_without_pandas_the_extra_is_named(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(sys.modules, "pandas", None)
    with pytest.raises(InputError, match=r"pip install 'ascentopt\[dataframes\]'"):
        TABLE.to_dataframe()
