"""A sweep as contours over two numbers, with the region that cannot fly."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.report.figures.sweeps.sweep_sides import SweepSides, sides_of
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import COSTS, GROUND, HATCHED, PAPER
from ascentopt.studies.sweep.answer import PointOutcome
from ascentopt.studies.sweep.swept import Sweep
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEVELS = 10
_HATCHED = "cannot fly, up to the next point that does"


@checked
def sweep_contour_figure(
    sweep: Sweep,
    quantity: str = "propellant_margin",
    *,
    across: str | None = None,
    upward: str | None = None,
    held: Mapping[str, object] | None = None,
) -> Figure:
    """Draw a quantity over two numbers of a sweep as contours.

    Points of the sweep are dots where they fly and crosses where they do not. Cells between four
    points that fly, and triangles between three, are filled; all else is crossed out: it cannot
    fly, or is not known to.

    Args:
        sweep: over a grid.
        quantity: a column of `Sweep.to_table`.
        across, upward: names of what is varied, in numbers; by default the first two that vary.
        held: of every other name that varies the value that is drawn.

    Raises:
        InputError: as `sweep_lines_figure`, and for less than two values of either, or no three
            points in a corner that fly.
    """
    from matplotlib.figure import Figure

    sides = sides_of("sweep_contour_figure", sweep, quantity, across, upward, held or {})
    triangles = _triangles(sides.flies) if min(sides.numbers.shape) > 1 else []
    if not triangles:
        raise InputError(
            f"sweep_contour_figure: {np.count_nonzero(sides.flies)} of "
            f"{sides.numbers.shape[0]} by {sides.numbers.shape[1]} points fly; there must be three "
            "in a corner at least. Widen the grid, or take sweep_lines_figure."
        )
    figure = Figure(figsize=(8.2, 6.4), layout="constrained")
    axes = figure.add_subplot()
    axes.patch.set(facecolor=PAPER, hatch="xx", edgecolor=HATCHED)
    _draw_levels(figure, axes, sides, triangles)
    _draw_points(axes, sweep, sides)
    axes.set(xlabel=sides.across.label, ylabel=sides.upward.label)
    axes.margins(0.0)
    axes.legend(handles=_handles(axes, sides), loc="lower center", bbox_to_anchor=(0.5, 1.0),
                ncols=3, fontsize=8, frameon=False)  # fmt: skip
    write_head(figure, ", ".join(filter(None, (sweep.subject, sides.held))))
    write_foot(figure)
    return figure


def _triangles(flies: np.ndarray) -> list[tuple[int, int, int]]:
    """Of each cell the triangles whose corners all fly: two, or one where three corners do."""
    wide = flies.shape[1]
    found: list[tuple[int, int, int]] = []
    for k, m in np.ndindex(flies.shape[0] - 1, wide - 1):
        corners = [(k, m), (k + 1, m), (k + 1, m + 1), (k, m + 1)]
        there = [a * wide + b for a, b in corners if flies[a, b]]
        if len(there) > 2:
            found.append((there[0], there[1], there[2]))
        if len(there) > 3:
            found.append((there[0], there[2], there[3]))
    return found


def _draw_levels(
    figure: Figure, axes: Axes, sides: SweepSides, triangles: list[tuple[int, int, int]]
) -> None:
    from matplotlib.colors import LinearSegmentedColormap
    from matplotlib.ticker import MaxNLocator
    from matplotlib.tri import Triangulation

    x, y = np.meshgrid(sides.across.values, sides.upward.values, indexing="ij")
    numbers: Floats = np.where(sides.flies, sides.numbers, 0.0).ravel()  # a hole has no triangle
    known = sides.numbers[sides.flies]
    levels = MaxNLocator(_LEVELS).tick_values(float(known.min()), float(known.max()))
    ramp = LinearSegmentedColormap.from_list("costs", COSTS)
    mesh = Triangulation(x.ravel(), y.ravel(), triangles)
    filled = axes.tricontourf(mesh, numbers, levels=levels, cmap=ramp)
    if known.min() < known.max():
        axes.tricontour(mesh, numbers, levels=levels, colors=GROUND, linewidths=0.6)
    figure.colorbar(filled, ax=axes, ticks=levels).set_label(sides.label)


def _draw_points(axes: Axes, sweep: Sweep, sides: SweepSides) -> None:
    x, y = np.meshgrid(sides.across.values, sides.upward.values, indexing="ij")
    axes.plot(x[sides.flies], y[sides.flies], ".", ms=4, color=GROUND, label="flies",
              clip_on=False)  # fmt: skip
    told = np.vectorize(lambda point: _outcome(sweep, int(point)), otypes=[object])
    outcomes = told(sides.points)
    for outcome, marker, text in (
        (PointOutcome.REFUSED, "x", "refused"),
        (PointOutcome.WRONG_INPUT, "+", "cannot be described"),
        (None, "o", "not solved yet"),
    ):
        own = (outcomes == outcome) & ~sides.flies
        if own.any():
            axes.plot(x[own], y[own], marker, ms=6, mew=1.4, color=GROUND, mfc="none", label=text,
                      clip_on=False)  # fmt: skip


def _outcome(sweep: Sweep, point: int) -> PointOutcome | None:
    answer = sweep.answers[point]
    return None if answer is None else answer.outcome


def _handles(axes: Axes, sides: SweepSides) -> list[object]:
    from matplotlib.patches import Patch

    handles, _ = axes.get_legend_handles_labels()
    if sides.flies.all():
        return [*handles]
    return [*handles, Patch(facecolor=PAPER, edgecolor=HATCHED, hatch="xx", label=_HATCHED)]
