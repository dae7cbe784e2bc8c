"""Labels that keep out of each other's way, and out of the way of the curves."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import product
from math import cos, pi, sin
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.report.page.palette import GROUND, SOFT
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

_DISTANCES = (9.0, 16.0, 26.0, 40.0, 56.0, 76.0, 100.0)
"""Points between a mark and its label, the nearest first."""

_ANGLES = tuple(k * pi / 8 for k in (15, 1, 14, 2, 7, 9, 13, 3, 12, 4, 10, 6, 8, 11, 5, 0))
"""Directions from a mark: to its right and below first, where a climbing curve leaves room."""

_LED = 14.0
"""Points from which a thin line leads from label to mark."""

_LEADER = {"arrowstyle": "-", "lw": 0.5, "color": SOFT, "shrinkA": 0.0, "shrinkB": 3.0}

_UNDER, _OUTSIDE = 6.0, 100.0
"""What a label costs on another one, and beyond the frame; each pixel or so of a curve costs 1."""


class Box(NamedTuple):
    """A rectangle in pixels."""

    left: float
    bottom: float
    right: float
    top: float

    def meets(self, other: Box) -> bool:
        """Whether the two share any area."""
        return (
            self.left < other.right
            and other.left < self.right
            and self.bottom < other.top
            and other.bottom < self.top
        )

    def inside(self, other: Box) -> bool:
        """Whether it lies within the other."""
        return (
            self.left >= other.left
            and self.right <= other.right
            and self.bottom >= other.bottom
            and self.top <= other.top
        )

    def holds(self, points: Floats) -> int:
        """How many of the points (k, 2) lie in it."""
        x, y = points[:, 0], points[:, 1]
        within = (x > self.left) & (x < self.right) & (y > self.bottom) & (y < self.top)
        return int(np.count_nonzero(within))


class Label(NamedTuple):
    """A text at a place in the coordinates of the axes."""

    x: float
    y: float
    text: str


def place_labels(
    axes: Axes, labels: Sequence[Label], *, avoid: Sequence[Line2D], size: float = 8.0
) -> None:
    """Write each label beside its place, clear of the others and of the lines.

    Where no place is clear the one with the least under it is taken. Call it last: it takes the
    axes where they are, with the limits that they have.
    """
    figure = axes.get_figure(root=True)
    if figure is None:
        return
    figure.draw_without_rendering()
    pixels = figure.dpi / 72.0
    frame = _box(axes.get_window_extent())
    obstacles = np.vstack([_traced(axes, line) for line in avoid] or [np.zeros((0, 2))])
    spots = axes.transData.transform([(label.x, label.y) for label in labels])
    taken = [Box(x - 4, y - 4, x + 4, y + 4) for x, y in spots]
    taken += [_box(text.get_window_extent()) for text in axes.texts]
    for label, spot in zip(labels, spots, strict=True):
        gap, offset, box = _free_place(
            axes, label.text, spot, (size, pixels), frame, taken, obstacles
        )
        taken.append(box)
        note = axes.annotate(
            label.text,
            (label.x, label.y),
            xytext=(float(offset[0]), float(offset[1])),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=size,
            color=GROUND,
            arrowprops=_LEADER if gap > _LED else None,
        )
        note.set_in_layout(False)  # the layout was settled before


def _free_place(
    axes: Axes,
    text: str,
    spot: Floats,
    scale: tuple[float, float],
    frame: Box,
    taken: Sequence[Box],
    obstacles: Floats,
) -> tuple[float, Floats, Box]:
    """Distance from mark to label, offset of the label's centre, both in points, and its box."""
    size, pixels = scale
    probe = axes.text(0.0, 0.0, text, fontsize=size)
    extent = probe.get_window_extent()
    probe.remove()
    half = np.array([extent.width, extent.height]) / 2.0 + 2.0 * pixels
    tried: list[tuple[float, float, Floats, Box]] = []
    for distance, angle in product(_DISTANCES, _ANGLES):
        way = np.array([cos(angle), sin(angle)])
        centre = spot + distance * pixels * way + np.clip(1.6 * way, -1.0, 1.0) * half
        box = Box(*(centre - half), *(centre + half))
        cost = _UNDER * sum(box.meets(other) for other in taken) + box.holds(obstacles)
        cost += 0.0 if box.inside(frame) else _OUTSIDE
        tried.append((cost, distance, (centre - spot) / pixels, box))
        if cost == 0.0:
            break
    _, gap, offset, box = min(tried, key=lambda found: found[0])
    return gap, offset, box


def _traced(axes: Axes, line: Line2D) -> Floats:
    """(k, 2) pixels along a line, close enough for no label to fit between two of them."""
    points = axes.transData.transform(np.asarray(line.get_xydata(), dtype=float))
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) < 2:
        return np.asarray(points, dtype=float)
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    asked = np.arange(0.0, along[-1], 3.0)
    return np.column_stack([np.interp(asked, along, points[:, k]) for k in (0, 1)])


def _box(extent: object) -> Box:
    left, bottom, right, top = extent.extents  # type: ignore[attr-defined]
    return Box(float(left), float(bottom), float(right), float(top))
