"""What can be asked of a figure without looking at it."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from pathlib import Path as Directory
from typing import NamedTuple

import numpy as np
from matplotlib.axes import Axes
from matplotlib.axes._base import _AxesBase
from matplotlib.colors import to_rgba
from matplotlib.figure import Figure
from matplotlib.lines import Line2D
from matplotlib.path import Path
from matplotlib.text import Annotation, Text
from matplotlib.transforms import Bbox

from ascentopt.typing import Floats

SLACK = 0.5
"""Pixels by which boxes of texts may touch: less than a letter's side bearing."""

HAIRLINE = 0.7
"""Points. Thinner lines mark events."""


class Written(NamedTuple):
    """A text and its box in pixels: left, bottom, right, top."""

    text: str
    box: tuple[float, float, float, float]


def written(figure: Figure) -> list[Written]:
    """Every text that is to be seen on a figure."""
    figure.draw_without_rendering()
    return [Written(t.get_text(), _box(t)) for t in _texts(figure)]


def _texts(figure: Figure) -> Iterator[Text]:
    panels = [*figure.axes, *(child for axes in figure.axes for child in axes.child_axes)]
    ticks = {id(label) for axes in panels for label in _hidden_ticks(axes)}
    for artist in figure.findobj(Text):
        assert isinstance(artist, Text)
        if artist.get_visible() and artist.get_text().strip() and id(artist) not in ticks:
            yield artist


def _hidden_ticks(axes: _AxesBase) -> Iterator[Text]:
    """Labels of ticks that matplotlib keeps, but draws nowhere since they are out of range."""
    for axis in (axes.xaxis, axes.yaxis):
        low, high = sorted(axis.get_view_interval())
        room = 1e-6 * (high - low)
        for tick in (*axis.get_major_ticks(), *axis.get_minor_ticks()):
            outside = not low - room <= tick.get_loc() <= high + room
            yield from (t for t in (tick.label1, tick.label2) if outside or not t.get_visible())


def _box(text: Text) -> tuple[float, float, float, float]:
    # Of an annotation the text alone: its leader is no text, and looked at in `struck`.
    left, bottom, right, top = Text.get_window_extent(text).extents
    return float(left), float(bottom), float(right), float(top)


def beyond_the_page(figure: Figure) -> list[str]:
    """Texts that are cut off by the edge of the figure."""
    width, height = figure.get_size_inches() * figure.dpi
    return [
        text
        for text, (left, bottom, right, top) in written(figure)
        if left < 0.0 or bottom < 0.0 or right > width or top > height
    ]


def overlapping(figure: Figure) -> list[tuple[str, str]]:
    """Pairs of texts that run into each other."""
    return [
        (one.text, other.text)
        for one, other in combinations(written(figure), 2)
        if _meet(one.box, other.box)
    ]


def struck(figure: Figure) -> list[str]:
    """Texts within a panel, and legends, through which a line of that panel runs."""
    figure.draw_without_rendering()
    return [
        text
        for axes in _panels(figure)
        for text, box, masked in _inside(axes)
        for path in _paths_in(figure, axes, text, masked=masked)
        if _runs_through(path, box, axes)
    ]


def _panels(figure: Figure) -> list[Axes]:
    return [axes for axes in figure.axes if axes.get_visible() and axes.axison]


def _inside(axes: Axes) -> Iterator[tuple[str, Bbox, bool]]:
    """What is written in a panel, its box in pixels, and whether it has paper under it."""
    for text in axes.texts:
        if text.get_visible() and text.get_text().strip():
            paper = text.get_bbox_patch()
            masked = paper is not None and to_rgba(paper.get_facecolor())[3] == 1.0
            yield text.get_text(), Text.get_window_extent(text), masked
    legend = axes.get_legend()
    if legend is not None:
        names = [text.get_text() for text in legend.get_texts()]
        yield f"legend: {'; '.join(names)}", legend.get_window_extent(), False


def _paths_in(figure: Figure, axes: Axes, besides: str, *, masked: bool) -> Iterator[Path]:
    """In pixels: lines of a panel and of those drawn over it, leaders of all but one text.

    A text that is masked interrupts hairlines, which mark events, but no others.
    """
    for other in figure.axes:
        if np.allclose(other.bbox.extents, axes.bbox.extents):
            for line in (line for line in other.lines if line.get_visible()):
                if not (masked and line.get_linewidth() < HAIRLINE):
                    yield line.get_path().transformed(line.get_transform())
            yield from (_leader(text) for text in other.texts if _leads(text, besides))


def _leads(text: Text, besides: str) -> bool:
    led = isinstance(text, Annotation) and text.arrow_patch is not None
    return led and text.get_text() != besides


def _leader(text: Text) -> Path:
    assert isinstance(text, Annotation)
    assert text.arrow_patch is not None
    patch = text.arrow_patch
    return patch.get_path().transformed(patch.get_transform())


def _runs_through(path: Path, box: Bbox, axes: Axes) -> bool:
    seen = Bbox.intersection(box.padded(-SLACK), axes.bbox)
    return seen is not None and bool(path.intersects_bbox(seen, filled=False))


def _meet(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    across = min(one[2], other[2]) - max(one[0], other[0])
    upward = min(one[3], other[3]) - max(one[1], other[1])
    return across > SLACK and upward > SLACK


def axes_labelled(figure: Figure, words: str) -> Axes:
    """The one panel with these words on its axis of y."""
    (found,) = [axes for axes in figure.axes if words in axes.get_ylabel()]
    return found


def axis_labels(figure: Figure) -> list[str]:
    """Labels of all axes of x and y that have any."""
    pairs = [(axes.get_xlabel(), axes.get_ylabel()) for axes in figure.axes]
    return [label for pair in pairs for label in pair if label]


def level_lines(axes: Axes) -> list[float]:
    """Heights of the lines that run straight across a panel."""
    return [float(points(line)[0, 1]) for line in axes.lines if _level(line)]


def points(line: Line2D) -> Floats:
    """(k, 2) what a line runs through."""
    return np.asarray(line.get_xydata(), dtype=np.float64)


def _level(line: Line2D) -> bool:
    x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
    return len(x) == 2 and y[0] == y[1] and [*x] == [0.0, 1.0]


def upright_lines(axes: Axes) -> list[float]:
    """Places of the lines that run straight up a panel."""
    found = []
    for line in axes.lines:
        x, y = np.asarray(line.get_xdata(), float), np.asarray(line.get_ydata(), float)
        if len(x) == 2 and x[0] == x[1] and [*y] == [0.0, 1.0]:
            found.append(float(x[0]))
    return found


def saved(figure: Figure, directory: Directory) -> None:
    """Write a figure as PNG and PDF, and hold the first bytes against the two formats."""
    figure.savefig(directory / "figure.png", dpi=60)
    figure.savefig(directory / "figure.pdf")
    assert (directory / "figure.png").read_bytes().startswith(b"\x89PNG\r\n\x1a\n")
    assert (directory / "figure.pdf").read_bytes().startswith(b"%PDF-")


def assert_sound(figure: Figure, directory: Directory) -> None:
    """What holds for every figure: texts apart, on the page and clear of lines, both formats."""
    from matplotlib import pyplot as plt

    assert beyond_the_page(figure) == []
    assert overlapping(figure) == []
    assert struck(figure) == []
    assert plt.get_fignums() == []
    saved(figure, directory)
