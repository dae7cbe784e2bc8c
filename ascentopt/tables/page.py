"""A result as a notebook shows it: a heading, a few lines, and its tables."""

from __future__ import annotations

from collections.abc import Iterable

from ascentopt.tables.html import block
from ascentopt.tables.table import Table


def page(title: str, lines: Iterable[str] = (), tables: Iterable[Table] = ()) -> str:
    """HTML; texts are escaped here, and tables show what people read: km, kPa, degrees."""
    return block(title, lines, (one.fragment() for one in tables))
