"""What figures of horizontal bars share: one line for the optimum and one for each rule."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from ascentopt.report.page.palette import SOFT
from ascentopt.report.page.sheet import wrapped

if TYPE_CHECKING:
    from matplotlib.axes import Axes

ROW = 0.42
"""Inches from one bar to the next."""

_NAME_WIDTH = 210.0
"""Points that the name of a bar may take in a line."""


def name_bars(axes: Axes, names: Sequence[str]) -> None:
    """Write names beside bars at 0, 1, 2, ..., the first at the top."""
    lines = ["\n".join(wrapped(name, _NAME_WIDTH, 8.0)) for name in names]
    axes.set_yticks(range(len(names)), lines, fontsize=8)
    axes.set_ylim(len(names) - 0.4, -0.6)
    axes.tick_params(axis="y", length=0.0)
    axes.grid(visible=True, axis="x", lw=0.4, color=SOFT, alpha=0.4)
    axes.set_axisbelow(True)
    axes.spines[["top", "right"]].set_visible(False)
