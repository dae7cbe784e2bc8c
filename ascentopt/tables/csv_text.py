"""CSV as the standard has it (RFC 4180), floats to the last bit."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

_END = "\r\n"

_QUOTED = frozenset(',"\r\n#')
"""What a field must be quoted for. The number sign is not asked for by the standard, but begins a
comment for many readers, ours included."""


def csv_text(notes: Iterable[str], head: Sequence[str], rows: Iterable[Sequence[object]]) -> str:
    """Comments, each line behind a number sign; the names of the columns; a line for each row."""
    comments = [f"# {line}".rstrip() for note in notes for line in note.splitlines() or [""]]
    return _END.join([*comments, _line(head), *map(_line, rows), ""])


def _line(cells: Sequence[object]) -> str:
    return ",".join(map(_field, cells)) or '""'  # one empty field alone would be no row


def _field(cell: object) -> str:
    if cell is None:
        return ""
    text = repr(cell) if isinstance(cell, float) else str(cell)
    if _QUOTED.isdisjoint(text):
        return text
    return '"' + text.replace('"', '""') + '"'
