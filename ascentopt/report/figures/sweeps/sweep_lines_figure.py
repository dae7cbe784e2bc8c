"""A sweep as lines: a quantity over one number, a line for each value of another."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.report.figures.sweeps.sweep_sides import SweepSides, sides_of
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import GROUND, OPTIMUM, OTHERS, PAPER
from ascentopt.studies.sweep.swept import Sweep

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_STROKES = (OPTIMUM, *OTHERS)
_MARKERS = "osD^v"
_CROSSES = (0.02, 0.035)
"""Of the panel's height: from its foot to the first row of crosses, and from row to row."""


@checked
def sweep_lines_figure(
    sweep: Sweep,
    quantity: str = "propellant_margin",
    *,
    across: str | None = None,
    family: str | None = None,
    held: Mapping[str, object] | None = None,
) -> Figure:
    """Draw a quantity over one number of a sweep, a line for each value of another.

    Each point has the mark of its structure. Where nothing flies the line is broken, and a cross of
    its colour stands at the foot of the panel. Of more than seven values seven are drawn.

    Args:
        sweep: over a grid.
        quantity: a column of `Sweep.to_table`.
        across, family: names of what is varied; by default the first two that vary.
        held: of every other name that varies the value that is drawn.

    Raises:
        InputError: for a list of points, an unknown column or name, one that is neither drawn nor
            held, or a sweep in which nothing flies.
    """
    from matplotlib.figure import Figure

    sides = sides_of("sweep_lines_figure", sweep, quantity, across, family, held or {})
    figure = Figure(figsize=(7.6, 5.6), layout="constrained")
    axes = figure.add_subplot()
    drawn = _drawn(len(sides.upward.values))
    for row, (index, stroke) in enumerate(zip(drawn, _STROKES, strict=False)):
        axes.plot(sides.across.values, sides.numbers[:, index], color=stroke.color,
                  ls=stroke.dashes, lw=stroke.width, label=_name(sides, index))  # fmt: skip
        _draw_crosses(axes, sides, index, row, stroke.color)
    plans = _draw_structures(axes, sweep, sides, drawn)
    axes.set(xlabel=sides.across.label, ylabel=sides.label)
    _name_places(axes, sides)
    axes.margins(y=0.12)
    _keep_above(axes, _top_of_crosses(sides, drawn))
    if any(_name(sides, index) for index in drawn) or plans > 1:
        axes.legend(loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=3, fontsize=8,
                    frameon=False, handlelength=3.0)  # fmt: skip
    write_head(figure, ", ".join(filter(None, (sweep.subject, sides.held))))
    write_foot(figure, _notes(sides, drawn))
    return figure


def _drawn(count: int) -> list[int]:
    """All lines, or as many as there are strokes, the first and the last among them."""
    most = min(count, len(_STROKES))
    return sorted({int(k) for k in np.rint(np.linspace(0, count - 1, most))})


def _name(sides: SweepSides, index: int) -> str:
    return f"{sides.upward.name} {sides.upward.texts[index]}" if sides.upward.name else ""


def _draw_crosses(axes: Axes, sides: SweepSides, index: int, row: int, color: str) -> None:
    refused = sides.across.values[~sides.flies[:, index]]
    height = _CROSSES[0] + row * _CROSSES[1]
    axes.plot(refused, np.full(len(refused), height), "x", color=color, ms=5, mew=1.4,
              transform=axes.get_xaxis_transform())  # fmt: skip


def _top_of_crosses(sides: SweepSides, drawn: list[int]) -> float:
    """Part of the panel's height below which crosses stand; zero without any."""
    rows = [row for row, index in enumerate(drawn) if not sides.flies[:, index].all()]
    return _CROSSES[0] + (rows[-1] + 1) * _CROSSES[1] if rows else 0.0


def _keep_above(axes: Axes, part: float) -> None:
    """Lower the panel's foot so that what is drawn by numbers stays above a part of its height."""
    least, (low, high) = float(axes.dataLim.y0), axes.get_ylim()
    axes.set_ylim(min(low, (least - part * high) / (1.0 - part)), high)


def _draw_structures(axes: Axes, sweep: Sweep, sides: SweepSides, drawn: list[int]) -> int:
    """Mark each point by its plan, the commonest first; how many plans there are."""
    colors = dict(zip(drawn, (one.color for one in _STROKES), strict=False))
    plans: dict[str, list[tuple[float, float, str]]] = {}
    for k, index in np.argwhere(sides.flies):
        answer = sweep.answers[int(sides.points[k, index])]
        if index in colors and answer is not None:
            place = float(sides.across.values[k]), float(sides.numbers[k, index])
            plans.setdefault(answer.plan, []).append((*place, colors[int(index)]))
    ordered = sorted(plans.items(), key=lambda one: (-len(one[1]), one[0]))
    for order, (plan, marks) in enumerate(ordered):
        marker = _MARKERS[min(order, len(_MARKERS) - 1)]
        x, y, ink = zip(*marks, strict=True)
        axes.scatter(x, y, s=22, marker=marker, c=PAPER, edgecolors=list(ink), linewidths=1.2,
                     zorder=3)  # fmt: skip
        if len(ordered) > 1:
            axes.plot([], [], marker, ls="none", ms=5, color=PAPER, mec=GROUND, label=plan)
    return len(ordered)


def _name_places(axes: Axes, sides: SweepSides) -> None:
    """What is no number is named at its place."""
    if not sides.across.numeric:
        axes.set_xticks(sides.across.values, sides.across.texts, fontsize=8)


def _notes(sides: SweepSides, drawn: list[int]) -> list[str]:
    count = len(sides.upward.values)
    few = f"Drawn are {len(drawn)} of {count} values of {sides.upward.name}."
    refused = "A cross at the foot: no flight there; sweep.to_table() says why."
    return [*([few] if len(drawn) < count else []), *([] if sides.flies.all() else [refused])]
