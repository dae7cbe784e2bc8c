"""The way of a flight in the vertical plane."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.report.flown import Flown, Stretch, Subject
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.labels import Label, name_lines, place_labels
from ascentopt.report.page.marks import gathered, marked
from ascentopt.report.page.palette import ABOVE, GROUND
from ascentopt.report.page.way import draw_around, draw_levels, draw_way, highest_shown, rows_of
from ascentopt.report.target_orbit import TargetOrbit, lower_ground, swept
from ascentopt.units import deg, km

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure
    from matplotlib.lines import Line2D

WIDTH = 10.0
"""Inches of the figure."""

_AFTER = 45.0
"""s of a long coast that the main panel still shows."""

_STRETCHES = (1, 2, 3, 4, 5, 6, 8, 10, 15, 20, 30, 50)
"""How many times larger altitude may be drawn than downrange distance."""

_WANTED = 0.42
"""Height over width of the main panel, roughly."""


@checked
def trajectory_figure(subject: Subject) -> Figure:
    """Draw altitude against downrange distance, with the events; nothing pops up.

    The axis of altitude is stretched by a whole number that the label states. The main panel ends
    where a coast of more than ten minutes begins; two more then show the whole flight: to scale
    around the body, and as altitude against the angle flown around its centre.
    """
    from matplotlib.figure import Figure

    flown = Flown.of(subject)
    coasts = flown.long_coasts
    end = min(coasts[0].start + _AFTER, coasts[0].end) if coasts else flown.end
    plane = _Plane.of(flown, end)
    height = 1.5 + 0.84 * WIDTH * plane.shape + (4.4 if coasts else 0.0)
    figure = Figure(figsize=(WIDTH, height), layout="constrained")
    if coasts:
        ratios = [0.84 * WIDTH * plane.shape + 0.7, 4.2]
        main, round_, unrolled = _three_panels(figure, ratios)
        draw_around(round_, flown)
        _draw_unrolled(unrolled, flown)
    else:
        main = figure.add_subplot()
    write_head(figure, flown.title)
    write_foot(figure, [note] if (note := lower_ground(flown)) else [])
    _draw_plane(main, flown, plane)
    return figure


def _three_panels(figure: Figure, ratios: list[float]) -> tuple[Axes, Axes, Axes]:
    grid = figure.add_gridspec(2, 2, height_ratios=ratios, width_ratios=(1.0, 1.3))
    return (
        figure.add_subplot(grid[0, :]),
        figure.add_subplot(grid[1, 0]),
        figure.add_subplot(grid[1, 1]),
    )


class _Plane:
    """Extent of the main panel: `width` and `height` in km, and how much height is stretched."""

    def __init__(self, width: float, height: float, end: float) -> None:
        self.width, self.height, self.end = width, height, end
        shapes = [factor * height / width for factor in _STRETCHES]
        best = int(np.argmin([abs(np.log(shape / _WANTED)) for shape in shapes]))
        self.stretch, self.shape = _STRETCHES[best], min(shapes[best], 0.8)

    @classmethod
    def of(cls, flown: Flown, end: float) -> _Plane:
        shown = flown.trajectory.time <= end
        top = highest_shown(flown, shown)
        width = float(flown.trajectory.downrange[shown].max())
        return cls(1.04 * width / km, 1.1 * top / km, end)


def _draw_plane(axes: Axes, flown: Flown, plane: _Plane) -> None:
    axes.set(xlim=(0.0, plane.width), ylim=(0.0, plane.height))
    axes.set_aspect(plane.stretch)
    axes.set_xlabel("downrange distance along the surface, km")
    scale = "to the same scale" if plane.stretch == 1 else f"drawn {plane.stretch} times as large"
    axes.set_ylabel(f"altitude, km\n({scale})")
    shown = flown.trajectory.time <= plane.end
    names = draw_levels(axes, flown, flown.trajectory.downrange / km, shown)
    lines = [_draw_stretch(axes, flown, s, plane.end) for s in flown.stretches]
    axes.legend(handles=_one_each(lines), fontsize=8, **ABOVE)
    name_lines(axes, names)
    marks = list(gathered(marked(flown, 0.0, plane.end), plane.width * km, plane.height * km))
    for mark in marks:
        axes.plot(mark.place.downrange / km, mark.place.altitude / km, "o", ms=5, color=GROUND)
    labels = [Label(m.place.downrange / km, m.place.altitude / km, m.text) for m in marks]
    place_labels(axes, labels)


def _draw_stretch(axes: Axes, flown: Flown, stretch: Stretch, end: float) -> Line2D:
    track = flown.trajectory
    rows = rows_of(flown, stretch) & (track.time <= end)
    x, y = track.downrange[rows] / km, track.altitude[rows] / km
    return draw_way(axes, x, y, burning=stretch.burning)


def _one_each(lines: list[Line2D]) -> list[Line2D]:
    """One line for each label."""
    return list({str(line.get_label()): line for line in lines}.values())


def _draw_unrolled(axes: Axes, flown: Flown) -> None:
    """Altitude of the whole flight against the angle flown."""
    angle, height = swept(flown) / deg, flown.trajectory.altitude / km
    target = TargetOrbit.of(flown).altitude(flown) / km
    top = 1.12 * float(max(height.max(), target[-1]))
    axes.set(xlim=(0.0, 1.02 * angle[-1]), ylim=(0.0, top), ylabel="altitude, km")
    axes.set_xlabel("angle flown around the centre (inertial), deg")
    names = draw_levels(axes, flown, angle, np.full(len(angle), fill_value=True))
    labels = []
    for stretch in flown.stretches:
        rows = rows_of(flown, stretch)
        draw_way(axes, angle[rows], height[rows], burning=stretch.burning)
        if stretch.burning and stretch.end > flown.long_coasts[0].start - 1.0:
            spot = float(angle[rows][-1]), float(height[rows][-1])
            axes.plot(*spot, "o", ms=5, color=GROUND)
            labels.append(Label(*spot, _ended(flown, stretch)))
    name_lines(axes, names)
    place_labels(axes, labels)


def _ended(flown: Flown, stretch: Stretch) -> str:
    """Name and time of the event that ends a burn."""
    joint = flown.sequence.arcs[stretch.last].joint
    return f"{joint.event}, {stretch.end:.1f} s"
