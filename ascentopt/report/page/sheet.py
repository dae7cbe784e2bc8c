"""A page on which texts are measured before they are written, so that none runs over."""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache
from typing import TYPE_CHECKING, NamedTuple

from ascentopt.report.page.palette import FAINT, GROUND, SOFT

if TYPE_CHECKING:
    from matplotlib.figure import Figure

A4 = (595.28, 841.89)
"""Points, width and height: 210 x 297 mm at 72 to the inch."""

MARGIN = 36.0
"""Points on every side that stay empty."""

_LEADING = 1.32
"""Of a line, over the size of its letters."""

_SPARE = 1.06
"""Widths are reckoned so much larger: letters are fitted to the pixels of the page."""

_LONGEST = 200
"""Letters: no line of a page holds more, and longer words are not even measured."""


class Head(NamedTuple):
    """A column of a table: its two-line head, its width in points, and to which side it is set."""

    name: str
    unit: str
    width: float
    right: bool = True


class Sheet:
    """A page of A4, filled from the top.

    Attributes:
        figure: the page.
        scale: of all letters.
        cursor: points from the top at which the next thing goes.
        writing: whether anything is drawn; a sheet that only measures draws nothing.
    """

    def __init__(self, figure: Figure, scale: float, *, writing: bool) -> None:
        self.figure, self.scale, self.writing = figure, scale, writing
        self.cursor = MARGIN

    def size(self, points: float) -> float:
        """Size of letters on this sheet."""
        return points * self.scale

    def line(self, points: float) -> float:
        """Height of a line of letters of a nominal size."""
        return self.size(points) * _LEADING

    def write(
        self,
        place: tuple[float, float],
        text: str,
        points: float,
        *,
        bold: bool = False,
        right: bool = False,
        color: str = GROUND,
    ) -> None:
        """One line with its upper left (or right) corner at `place`, points from the top left."""
        if not self.writing or not text:
            return
        x, y = place
        self.figure.text(
            x / A4[0],
            1.0 - y / A4[1],
            text,
            fontsize=self.size(points),
            fontweight="bold" if bold else "normal",
            ha="right" if right else "left",
            va="top",
            color=color,
            parse_math=False,
        )

    def paragraph(
        self, left: float, width: float, text: str, points: float, *, bold: bool = False
    ) -> None:
        """Lines broken to a width, below the cursor."""
        for line in self.wrapped(text, width, points, bold=bold):
            self.write((left, self.cursor), line, points, bold=bold)
            self.cursor += self.line(points)

    def rule(self, left: float, right: float, color: str = FAINT, width: float = 0.6) -> None:
        """A line across, at the cursor."""
        if self.writing:
            from matplotlib.lines import Line2D

            y = 1.0 - self.cursor / A4[1]
            ends = [left / A4[0], right / A4[0]]
            self.figure.add_artist(Line2D(ends, [y, y], color=color, lw=width))

    def heading(self, left: float, right: float, text: str) -> None:
        """A heading with a rule under it."""
        self.write((left, self.cursor), text, 9.5, bold=True)
        self.cursor += self.line(9.5)
        self.rule(left, right, SOFT, 0.8)
        self.cursor += 3.0 * self.scale

    def table(
        self, left: float, heads: Sequence[Head], rows: Sequence[Sequence[str]], points: float
    ) -> None:
        """A head of two lines, then the rows; long cells are broken into lines."""
        names = [(head.name, head.unit) for head in heads]
        for part in (0, 1) if any(head.unit for head in heads) else (0,):
            self.row(left, heads, [name[part] for name in names], points - 1.0, SOFT)
        for row in rows:
            self.rule(left, left + sum(head.width for head in heads))
            self.cursor += 1.2 * self.scale
            self.row(left, heads, row, points, GROUND)

    def row(
        self, left: float, heads: Sequence[Head], cells: Sequence[str], points: float, color: str
    ) -> None:
        """Cells side by side below the cursor, each in its column's width less a gap."""
        gap = 6.0
        lines = [
            self.wrapped(cell, head.width - gap, points)
            for head, cell in zip(heads, cells, strict=True)
        ]
        x = left
        for head, cell in zip(heads, lines, strict=True):
            edge = x + (head.width - gap if head.right else 0.0)
            for count, line in enumerate(cell):
                place = edge, self.cursor + count * self.line(points)
                self.write(place, line, points, right=head.right, color=color)
            x += head.width
        self.cursor += self.line(points) * max((len(cell) for cell in lines), default=1)

    def wrapped(self, text: str, width: float, points: float, *, bold: bool = False) -> list[str]:
        """The text in lines no wider than a width, at the scale of the sheet."""
        return wrapped(text, width, self.size(points), bold=bold)


def wrapped(text: str, width: float, size: float, *, bold: bool = False) -> list[str]:
    """The text in lines no wider than a width in points; a word that is wider is cut."""
    lines: list[str] = [""]
    for word in text.split():
        longer = f"{lines[-1]} {word}".strip()
        short = len(word) < _LONGEST
        if short and text_width(longer, size, bold=bold) <= width:
            lines[-1] = longer
        else:
            pieces = _cut(word, width, size, bold=bold)
            lines = [*(line for line in lines if line), *pieces]
    return lines


def _cut(word: str, width: float, size: float, *, bold: bool) -> list[str]:
    """A word in pieces no wider than a width, each of one letter at least."""
    pieces, rest = [], word
    while len(rest) > 1 and text_width(rest[:_LONGEST], size, bold=bold) > width:
        count = max(_fitting(rest, width, size, bold=bold), 1)
        pieces.append(rest[:count])
        rest = rest[count:]
    return [*pieces, rest]


def _fitting(word: str, width: float, size: float, *, bold: bool) -> int:
    """How many letters of a word fit a width, found by halving."""
    fits, too_many = 0, min(len(word), _LONGEST)
    while too_many - fits > 1:
        middle = (fits + too_many) // 2
        if text_width(word[:middle], size, bold=bold) <= width:
            fits = middle
        else:
            too_many = middle
    return fits


@lru_cache(maxsize=4096)
def text_width(text: str, size: float, *, bold: bool) -> float:
    """Width of a line in points, with a little to spare."""
    from matplotlib.font_manager import FontProperties
    from matplotlib.textpath import text_to_path

    font = FontProperties(size=size, weight="bold" if bold else "normal")
    width, _, _ = text_to_path.get_text_width_height_descent(text, font, ismath=False)
    return _SPARE * float(width)
