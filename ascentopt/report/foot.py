"""The lines under a figure."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ascentopt.report.flown import CAUTION
from ascentopt.report.palette import SOFT
from ascentopt.report.sheet import wrapped

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SIZE = 7.5
"""Points of the letters."""


def write_foot(figure: Figure, notes: Sequence[str] = ()) -> None:
    """Write notes and, below them, the caution under a figure, broken to its width."""
    width = 72.0 * 0.95 * float(figure.get_figwidth())
    lines = [line for note in (*notes, CAUTION) for line in wrapped(note, width, _SIZE)]
    figure.supxlabel("\n".join(lines), fontsize=_SIZE, color=SOFT)
