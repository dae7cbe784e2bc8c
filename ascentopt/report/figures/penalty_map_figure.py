"""What a rule of thumb costs over its two numbers."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.report.figures.map_mesh import mesh_of
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import COSTS, GROUND, HATCHED, LIMIT, PAPER
from ascentopt.studies.maps.axis import Axis, axis_label, in_unit, shown
from ascentopt.studies.maps.cost_map import CostMap, least_cell
from ascentopt.studies.maps.map_slope import edge_note, slope_texts
from ascentopt.typing import Floats
from ascentopt.units import in_places

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.text import Text

_MOST_LEVELS = 10

_APART = 45.0  # points between labels of contours


@checked
def penalty_map_figure(cost_map: CostMap) -> Figure:
    """Draw the propellant beyond the least as contours over a grid; nothing pops up.

    Colours and levels count from the least of the map, in steps that grow roughly by doubling; what
    that least costs beyond the optimum stands beside its mark. Where there is
    no orbit the area is crossed out, where a limit is broken it is shaded behind an edge. The best
    point, and the best that keeps the limits where that is another one, are marked with their
    numbers, and what a small step off it costs is told; so is a best point at the map's edge.
    Between the cells, whose values are met, costs are interpolated along the valley.

    Raises:
        InputError: for a grid of less than two by two, or without any orbit.
    """
    from matplotlib.figure import Figure

    sheet = _Map(cost_map)
    figure = Figure(figsize=(8.5, 7.6), layout="constrained")
    axes = figure.add_subplot()
    axes.patch.set(facecolor=PAPER, hatch="xx", edgecolor=HATCHED)
    points = _best_points(sheet)
    axes.set(xlim=(sheet.x.min(), sheet.x.max()), ylim=(sheet.y.min(), sheet.y.max()))
    _draw_costs(figure, axes, sheet, points)
    _draw_excess(axes, sheet)
    for point, marker in zip(points, "*D", strict=False):
        axes.plot(point.x, point.y, marker, ms=13 if marker == "*" else 8, color=PAPER,
                  mec=GROUND, mew=1.1, label=point.text, ls="none", clip_on=False)  # fmt: skip
    _add_legend(axes, sheet)
    axes.set(xlabel=sheet.label(cost_map.across), ylabel=sheet.label(cost_map.upward))
    about = f"{cost_map.subject}: " if cost_map.subject else ""
    write_head(figure, f"{about}{cost_map.rule}")
    write_foot(figure, [*_edge_notes(sheet, points[-1]), *sheet.slopes(points[-1])])
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
        mesh: these between the cells.
    """

    def __init__(self, cost_map: CostMap) -> None:
        self.cost_map = cost_map
        self.x, self.y = (shown(axis) for axis in (cost_map.across, cost_map.upward))
        self.penalty = np.asarray(cost_map.penalty, dtype=float)
        self.excess = np.where(np.isfinite(self.penalty), cost_map.excess, np.nan)
        if min(self.penalty.shape) < 2 or not np.any(np.isfinite(self.penalty)):
            raise InputError(
                f"penalty_map_figure: the map of {cost_map.rule!r} has {self.penalty.shape} points "
                f"with {np.count_nonzero(np.isfinite(self.penalty))} orbits among them; it must "
                "have two by two with an orbit. Widen the grid, or move it to where the rule works."
            )
        self.least = float(np.nanmin(self.penalty))
        self.mesh = mesh_of(self.x, self.y, self.penalty, self.excess)

    def label(self, axis: Axis) -> str:
        """Name and shown unit of an axis."""
        return axis_label(axis)

    def slopes(self, point: _Point) -> list[str]:
        """What a step off the point costs."""
        told = self.cost_map
        return list(slope_texts(told.axes, told.penalty, told.excess, (point.row, point.column)))


def levels(least: float, greatest: float) -> list[float]:
    """The least, and 1, 2, 5, 10, 20, 50, ... kg above it until they reach beyond the greatest.

    With more than ten of them the smallest steps are put together.
    """
    found = [f * 10.0**power for power in range(9) for f in (1.0, 2.0, 5.0)]
    inner = [least + step for step in found if least + step < greatest]
    beyond = next(least + step for step in found if least + step >= greatest)
    return [least, *inner[-(_MOST_LEVELS - 2) :], beyond]


def _draw_costs(figure: Figure, axes: Axes, sheet: _Map, points: list[_Point]) -> None:
    from matplotlib.colors import BoundaryNorm, LinearSegmentedColormap
    from matplotlib.patheffects import AbstractPathEffect, withStroke

    steps = levels(sheet.least, float(np.nanmax(sheet.penalty)))
    ramp = LinearSegmentedColormap.from_list("costs", COSTS)
    mesh = sheet.mesh
    # A cubic may pass a little below the cells beside it, and above those at a cliff.
    masked = np.ma.masked_invalid(np.clip(mesh.penalty, steps[0], steps[-1]))
    norm = BoundaryNorm(steps, ramp.N)
    filled = axes.contourf(mesh.x, mesh.y, masked, levels=steps, cmap=ramp, norm=norm)
    lines = axes.contour(mesh.x, mesh.y, masked, levels=steps[1:], colors=GROUND,
                         linewidths=0.6)  # fmt: skip
    names = {step: f"+{step - sheet.least:.0f} kg" for step in steps[1:]}
    halo: list[AbstractPathEffect] = [withStroke(linewidth=2.5, foreground=PAPER)]
    labels = axes.clabel(lines, fmt=names, fontsize=8, inline=False)
    for label in _thinned(figure, axes, list(labels), points):
        label.set_path_effects(halo)
    bar = figure.colorbar(filled, ax=axes, ticks=steps, spacing="uniform")
    bar.ax.set_yticklabels(["0", *(name[:-3] for name in names.values())])
    bar.set_label("propellant beyond the best of this map, kg")


def _thinned(figure: Figure, axes: Axes, labels: list[Text], points: list[_Point]) -> list[Text]:
    """Labels within the frame that are not close to others, nor to the best; the rest goes."""
    kept: list[Text] = []
    figure.draw_without_rendering()
    frame = axes.get_window_extent()
    scale = 72.0 / figure.dpi
    places: list[Floats] = [scale * axes.transData.transform((p.x, p.y)) for p in points]
    for label in labels:
        place = scale * axes.transData.transform(label.get_position())
        inside = all(frame.contains(x, y) for x, y in label.get_window_extent().corners())
        if inside and all(np.hypot(*(place - other)) > _APART for other in places):
            kept.append(label)
            places.append(place)
        else:
            label.remove()
    return kept


def _draw_excess(axes: Axes, sheet: _Map) -> None:
    """Shade where a limit is broken, and draw the edge of that area."""
    known = sheet.excess[np.isfinite(sheet.excess)]
    if known.max() <= 0.0:
        return
    mesh = sheet.mesh
    top = 2.0 * float(known.max())
    masked = np.ma.masked_invalid(np.minimum(mesh.excess, top))
    shade = axes.contourf(mesh.x, mesh.y, masked, levels=[0.0, top], colors="none",
                          hatches=["//"])  # fmt: skip
    shade.set_edgecolor(LIMIT)
    shade.set_linewidth(0.0)
    if known.min() < 0.0:
        axes.contour(mesh.x, mesh.y, masked, levels=[0.0], colors=LIMIT, linewidths=2.0)


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
    row, column = least_cell(penalty)
    x, y, cost = float(sheet.x[column]), float(sheet.y[row]), float(penalty[row, column])
    across, upward = sheet.cost_map.across, sheet.cost_map.upward
    at = f"{in_unit(x, across)}, {in_unit(y, upward)}"
    text = f"{name}: {at}, {in_places(cost, 1)} kg over the optimum"
    if sheet.cost_map.edges_at((row, column)):
        text += " (at the map's edge)"
    return _Point(x, y, row, column, cost, text)


def _edge_notes(sheet: _Map, best: _Point) -> list[str]:
    edges, rise = sheet.cost_map.edges_at((best.row, best.column)), sheet.cost_map.rise_note
    return [*([edge_note(edges)] if edges else []), *([rise] if rise else [])]


def _add_legend(axes: Axes, sheet: _Map) -> None:
    from matplotlib.patches import Patch

    handles, _ = axes.get_legend_handles_labels()
    if np.any(np.isnan(sheet.penalty)):
        handles.append(Patch(facecolor=PAPER, edgecolor=HATCHED, hatch="xx", label="no orbit"))
    if np.nanmax(sheet.excess) > 0.0:
        handles.append(Patch(facecolor=PAPER, edgecolor=LIMIT, hatch="//", label="breaks a limit"))
    axes.legend(handles=handles, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2,
                fontsize=8, frameon=False)  # fmt: skip
