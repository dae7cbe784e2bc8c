"""Fragments of HTML that stand alone: no scripts, no style sheets, legible on light and dark.

Ink and ground are those of the page around them; rules are grey with half of it shining through.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

_RULE = "1px solid rgba(128,128,128,0.5)"
_TABLE = "border-collapse:collapse;margin:0.4em 0;color:inherit;background:transparent"
_CELL = "padding:0.1em 0.8em;border:none;background:transparent;color:inherit"


def block(title: str, lines: Iterable[str] = (), parts: Iterable[str] = ()) -> str:
    """A heading, lines of text below it, and finished fragments below these."""
    text = "".join(f"<div>{escape(line)}</div>" for line in lines)
    return f"<div><strong>{escape(title)}</strong>{text}{''.join(parts)}</div>"


def table(
    caption: str,
    heads: Sequence[tuple[str, str]],
    rows: Iterable[Sequence[str]],
    numeric: Sequence[bool],
) -> str:
    """A table.

    Args:
        caption: above it; may be empty.
        heads: name and unit of each column.
        rows: cells as texts.
        numeric: whether a column holds numbers, which stand to the right.
    """
    sides = ["right" if number else "left" for number in numeric]
    head = _row("th", (name + (f"\n{unit}" if unit else "") for name, unit in heads), sides)
    body = "".join(_row("td", row, sides) for row in rows)
    above = f'<div style="margin-top:0.6em">{escape(caption)}</div>' if caption else ""
    return (
        f'{above}<table style="{_TABLE}"><thead style="border-bottom:{_RULE}">{head}</thead>'
        f"<tbody>{body}</tbody></table>"
    )


def _row(tag: str, cells: Iterable[str], sides: Sequence[str]) -> str:
    made = (
        f'<{tag} style="{_CELL};text-align:{side}">{escape(cell).replace(chr(10), "<br>")}</{tag}>'
        for cell, side in zip(cells, sides, strict=True)
    )
    return f'<tr style="background:transparent">{"".join(made)}</tr>'
