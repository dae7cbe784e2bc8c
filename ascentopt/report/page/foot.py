"""The lines over and under a figure, broken to its width."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ascentopt.report.flown import CAUTION
from ascentopt.report.page.palette import SOFT
from ascentopt.report.page.sheet import wrapped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_HEAD, _FOOT = 11.0, 7.5
"""Points of the letters."""


def write_head(figure: Figure, title: str) -> None:
    """Write the title over a figure."""
    lines = wrapped(title, _width(figure), _HEAD)
    figure.suptitle("\n".join(lines), fontsize=_HEAD, parse_math=False)


def write_foot(figure: Figure, notes: Sequence[str] = ()) -> None:
    """Write notes and, below them, the caution under a figure."""
    width = _width(figure)
    lines = [line for note in (*notes, CAUTION) for line in wrapped(note, width, _FOOT)]
    figure.supxlabel("\n".join(lines), fontsize=_FOOT, color=SOFT, parse_math=False)


def _width(figure: Figure) -> float:
    """Points that a line may take."""
    return 72.0 * 0.95 * float(figure.get_figwidth())
