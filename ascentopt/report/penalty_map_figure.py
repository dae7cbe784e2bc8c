"""What a rule of thumb costs over its two numbers."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.errors import InputError
from ascentopt.report.foot import write_foot, write_head
from ascentopt.report.palette import COSTS, GROUND, HATCHED, LIMIT, PAPER
from ascentopt.rules.parameter import Parameter
from ascentopt.studies.cost_map import Axis, CostMap
from ascentopt.world.table import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST_LEVELS = 10

_STEPS = (1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01)
"""Steps off the best point, in shown units, of which the first that the grid holds is priced."""


def penalty_map_figure(cost_map: CostMap) -> Figure:
    """Draw the propellant beyond the least as contours over a grid; nothing pops up.

    Levels are the least of the map and steps from it that grow roughly by doubling. Where there is
    no orbit the area is crossed out, where a limit is broken it is shaded behind an edge. The best
    point, and the best that keeps the limits where that is another one, are marked with their
    numbers, and what a small step off it costs is told.

    Raises:
        InputError: for a grid of less than two by two, or without any orbit.
    """
    from matplotlib.figure import Figure

    sheet = _Map(cost_map)
    figure = Figure(figsize=(8.5, 7.6), layout="constrained")
    axes = figure.add_subplot()
    axes.patch.set(facecolor=PAPER, hatch="xx", edgecolor=HATCHED)
    _draw_costs(figure, axes, sheet)
    _draw_excess(axes, sheet)
    points = _best_points(sheet)
    for point, marker in zip(points, "*D", strict=False):
        axes.plot(point.x, point.y, marker, ms=13 if marker == "*" else 8, color=PAPER,
                  mec=GROUND, mew=1.1, label=point.text, ls="none", clip_on=False)  # fmt: skip
    _add_legend(axes, sheet)
    axes.set(xlabel=sheet.label(cost_map.across), ylabel=sheet.label(cost_map.upward))
    axes.set(xlim=(sheet.x.min(), sheet.x.max()), ylim=(sheet.y.min(), sheet.y.max()))
    write_head(figure, f"{cost_map.rule}: propellant beyond the least, kg")
    write_foot(figure, list(_slopes(sheet, points[-1])))
    return figure


class _Point(NamedTuple):
    """A grid point in shown units: its place, indices, penalty in kg and what is said of it."""

    x: float
    y: float
    row: int
    column: int
    penalty: float
    text: str


class _Map:
    """A cost map in the units that people read.

    Attributes:
        x: (columns,) and
        y: (rows,) in shown units.
        penalty, excess: (rows, columns).
    """

    def __init__(self, cost_map: CostMap) -> None:
        self.cost_map = cost_map
        self.x, self.y = (_shown(axis) for axis in (cost_map.across, cost_map.upward))
        self.penalty = np.asarray(cost_map.penalty, dtype=float)
        self.excess = np.where(np.isfinite(self.penalty), cost_map.excess, np.nan)
        if min(self.penalty.shape) < 2 or not np.any(np.isfinite(self.penalty)):
            raise InputError(
                f"penalty_map_figure: the map of {cost_map.rule!r} has {self.penalty.shape} points "
                f"with {np.count_nonzero(np.isfinite(self.penalty))} orbits among them; it must "
                "have two by two with an orbit. Widen the grid, or move it to where the rule works."
            )

    def label(self, axis: Axis) -> str:
        """Name and shown unit of an axis."""
        return f"{axis.name}, {_unit(axis)}"


def _unit(axis: Axis) -> str:
    return Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[1]


def _shown(axis: Axis) -> Floats:
    scale = Parameter(name=axis.name, value=1.0, unit=axis.unit).shown[0]
    return np.asarray(axis.values, dtype=float) * scale


def levels(least: float, greatest: float) -> list[float]:
    """The least, and 1, 2, 5, 10, 20, 50, ... kg above it until they reach beyond the greatest.

    With more than ten of them the smallest steps are put together.
    """
    found = [f * 10.0**power for power in range(9) for f in (1.0, 2.0, 5.0)]
    inner = [least + step for step in found if least + step < greatest]
    beyond = next(least + step for step in found if least + step >= greatest)
    return [least, *inner[-(_MOST_LEVELS - 2) :], beyond]


def _draw_costs(figure: Figure, axes: Axes, sheet: _Map) -> None:
    from matplotlib.colors import BoundaryNorm, LinearSegmentedColormap
    from matplotlib.patheffects import AbstractPathEffect, withStroke

    finite = sheet.penalty[np.isfinite(sheet.penalty)]
    steps = levels(float(finite.min()), float(finite.max()))
    ramp = LinearSegmentedColormap.from_list("costs", COSTS)
    masked = np.ma.masked_invalid(sheet.penalty)
    norm = BoundaryNorm(steps, ramp.N)
    filled = axes.contourf(sheet.x, sheet.y, masked, levels=steps, cmap=ramp, norm=norm)
    lines = axes.contour(sheet.x, sheet.y, masked, levels=steps[1:], colors=GROUND,
                         linewidths=0.6)  # fmt: skip
    halo: list[AbstractPathEffect] = [withStroke(linewidth=2.5, foreground=PAPER)]
    for label in axes.clabel(lines, fmt="%.0f", fontsize=8):
        label.set_path_effects(halo)
    bar = figure.colorbar(filled, ax=axes, ticks=steps, spacing="uniform")
    bar.ax.set_yticklabels([f"{step:.0f}" for step in steps])
    bar.set_label("propellant beyond the least, kg")


def _draw_excess(axes: Axes, sheet: _Map) -> None:
    """Shade where a limit is broken, and draw the edge of that area."""
    known = sheet.excess[np.isfinite(sheet.excess)]
    if known.max() <= 0.0:
        return
    masked = np.ma.masked_invalid(sheet.excess)
    top = 2.0 * float(known.max())
    shade = axes.contourf(sheet.x, sheet.y, masked, levels=[0.0, top], colors="none",
                          hatches=["//"])  # fmt: skip
    shade.set_edgecolor(LIMIT)
    shade.set_linewidth(0.0)
    if known.min() < 0.0:
        axes.contour(sheet.x, sheet.y, masked, levels=[0.0], colors=LIMIT, linewidths=2.0)


def _best_points(sheet: _Map) -> list[_Point]:
    """The best point; after it the best that keeps the limits, where that is another one."""
    best = _best(sheet, sheet.penalty, "best")
    kept = np.where(sheet.excess <= 0.0, sheet.penalty, np.nan)
    if best is None:  # a map without an orbit is refused before
        return []
    if sheet.excess[best.row, best.column] <= 0.0:
        return [best]
    within = _best(sheet, kept, "best within the limits")
    return [best] if within is None else [best, within]


def _best(sheet: _Map, penalty: Floats, name: str) -> _Point | None:
    if not np.any(np.isfinite(penalty)):
        return None
    row, column = np.unravel_index(int(np.nanargmin(penalty)), penalty.shape)
    x, y, cost = float(sheet.x[column]), float(sheet.y[row]), float(penalty[row, column])
    across, upward = (_unit(a) for a in (sheet.cost_map.across, sheet.cost_map.upward))
    text = f"{name}: {x:.4g} {across}, {y:.4g} {upward}, {cost:.1f} kg"
    return _Point(x, y, int(row), int(column), cost, text)


def _slopes(sheet: _Map, best: _Point) -> Iterator[str]:
    """What a step off the best point costs along each axis.

    Beside a best point that keeps the limits, steps that break one have no price.
    """
    penalty = sheet.penalty
    if sheet.excess[best.row, best.column] <= 0.0:
        penalty = np.where(sheet.excess <= 0.0, penalty, np.nan)
    lines = (
        (sheet.cost_map.across, sheet.x, penalty[best.row, :], best.x),
        (sheet.cost_map.upward, sheet.y, penalty[:, best.column], best.y),
    )
    for axis, values, costs, place in lines:
        for step in _STEPS:
            sides = (_price(values, costs, place - step), _price(values, costs, place + step))
            if any(side is not None for side in sides):
                yield _slope_text(axis, step, [_dearer(side, best) for side in sides])
                break


def _dearer(price: float | None, best: _Point) -> str | None:
    return None if price is None else f"{price - best.penalty:.1f} kg"


def _slope_text(axis: Axis, step: float, costs: list[str | None]) -> str:
    """One line on a step below and above the best; a side that has no price is left out."""
    unit = {"deg": "degree", "km": "kilometre"}.get(_unit(axis), _unit(axis))
    size = f"One {unit}" if step == 1.0 else f"{step:g} {_unit(axis)}"
    pairs = zip(costs, ("below", "above"), strict=True)
    told = " or ".join(f"{cost} ({way})" for cost, way in pairs if cost)
    return f"{size} off the best {axis.name} costs {told}."


def _price(values: Floats, costs: Floats, place: float) -> float | None:
    """Penalty at a place between grid points; None outside the grid and where there is no orbit."""
    if not values.min() <= place <= values.max():
        return None
    order = np.argsort(values)
    price = float(np.interp(place, values[order], costs[order]))
    return price if np.isfinite(price) else None


def _add_legend(axes: Axes, sheet: _Map) -> None:
    from matplotlib.patches import Patch

    handles, _ = axes.get_legend_handles_labels()
    if np.any(np.isnan(sheet.penalty)):
        handles.append(Patch(facecolor=PAPER, edgecolor=HATCHED, hatch="xx", label="no orbit"))
    if np.nanmax(sheet.excess) > 0.0:
        handles.append(Patch(facecolor=PAPER, edgecolor=LIMIT, hatch="//", label="breaks a limit"))
    axes.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2,
                fontsize=8, frameon=False)  # fmt: skip
