"""What stands in the way of a text within the frame of a plot, in pixels."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from copy import copy
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

_DOT = 4.0
"""Pixels from the middle of a mark to its edge."""

_CLOSE = 3.0
"""Pixels from one point of a traced line to the next: no text fits between two."""

UNDER, OUTSIDE = 30.0, 100.0
"""What a text costs on another one, and beyond the frame; each point of a line costs 1."""

HAIRLINE = 0.7
"""Points. A thinner line only marks a place: names may interrupt it, at little cost."""

_INTERRUPTED = 1e-3
"""What a point of a hairline costs: a place without one is better, one on a curve is not."""


class Box(NamedTuple):
    """A rectangle in pixels."""

    left: float
    bottom: float
    right: float
    top: float

    @classmethod
    def about(cls, centre: Floats, half: Floats) -> Box:
        """Around a centre (2,), to both sides by (2,)."""
        return cls(*(centre - half).tolist(), *(centre + half).tolist())

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


class Obstacles:
    """Lines, texts, marks, hatchings and the legend of a plot, and of what shares its frame.

    Attributes:
        pixels: to a point of a letter's size.
        frame: of the plot.
        taken: boxes that a text keeps clear of.
        points: (k, 2) along all lines but hairlines.
        marks: (k, 2) along these.
    """

    def __init__(self, axes: Axes) -> None:
        figure = axes.get_figure(root=True)
        if figure is None:
            raise TypeError("these axes belong to no figure")
        figure.draw_without_rendering()
        self.axes, self.pixels = axes, figure.dpi / 72.0
        self.frame = _box(axes.get_window_extent())
        sharing = [other for other in figure.axes if _same_frame(axes, other)]
        lines = [line for one in sharing for line in one.lines if line.get_visible()]
        self.points = _along(line for line in lines if line.get_linewidth() >= HAIRLINE)
        self.marks = _along(line for line in lines if line.get_linewidth() < HAIRLINE)
        self.taken = [box for one in sharing for box in _boxes(one)]

    def copy(self) -> Obstacles:
        """To which other things may be added."""
        other = copy(self)
        other.taken = list(self.taken)
        return other

    def cost(self, box: Box) -> float:
        """Of a text in a box; zero where it is clear of everything."""
        found = UNDER * sum(box.meets(other) for other in self.taken) + box.holds(self.points)
        found += _INTERRUPTED * box.holds(self.marks)
        return found + (0.0 if box.inside(self.frame) else OUTSIDE)

    def half_size(self, text: str, size: float) -> Floats:
        """(2,) half the width and height of a text with a little room around it."""
        probe = self.axes.text(0.0, 0.0, text, fontsize=size)
        extent = probe.get_window_extent()
        probe.remove()
        return np.array([extent.width, extent.height]) / 2.0 + 2.0 * self.pixels


def traced(line: Line2D) -> Floats:
    """(k, 2) pixels along a line."""
    points = line.get_transform().transform(np.asarray(line.get_xydata(), dtype=float))
    points = points[np.isfinite(points).all(axis=1)]
    if len(points) < 2:
        return np.asarray(points, dtype=float)
    steps = np.hypot(*np.diff(points, axis=0).T)
    along = np.concatenate(([0.0], np.cumsum(steps)))
    asked = np.arange(0.0, along[-1], _CLOSE)
    return np.column_stack([np.interp(asked, along, points[:, k]) for k in (0, 1)])


def _along(lines: Iterable[Line2D]) -> Floats:
    return np.vstack([*(traced(line) for line in lines), np.zeros((0, 2))])


def _same_frame(axes: Axes, other: Axes) -> bool:
    return other.get_visible() and bool(np.allclose(other.bbox.extents, axes.bbox.extents))


def _boxes(axes: Axes) -> Iterator[Box]:
    """Of texts, marks, hatched parts and the legend."""
    from matplotlib.text import Text

    for text in axes.texts:
        yield _box(Text.get_window_extent(text))  # of an annotation without its leader
    for line in axes.lines:
        points = traced(line)
        if len(points) == 1:
            yield Box.about(points[0], np.full(2, _DOT))
    for patch in axes.patches:
        if patch.get_hatch():
            yield _box(patch.get_window_extent())
    legend = axes.get_legend()
    if legend is not None:
        yield _box(legend.get_window_extent())


def _box(extent: object) -> Box:
    left, bottom, right, top = extent.extents  # type: ignore[attr-defined]
    return Box(float(left), float(bottom), float(right), float(top))
