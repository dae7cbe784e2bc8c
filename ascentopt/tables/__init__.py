"""Results as tables: columns with names and units, written as CSV, data frames and HTML.

What `to_csv` writes is in SI base units and radians, as is all that leaves the library, and each
column names its unit; only what people look at, text and HTML, is in kilometres and degrees (and,
beside its components, the direction in a steering table).
"""

from __future__ import annotations

from ascentopt.tables.one_line import in_a_line, one_line
from ascentopt.tables.page import page
from ascentopt.tables.shown import Cell
from ascentopt.tables.table import Column, Table, Tabular

__all__ = ["Cell", "Column", "Table", "Tabular", "in_a_line", "one_line", "page"]
