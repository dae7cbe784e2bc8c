"""The way of a flight in the vertical plane."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.mission import CircularOrbit, Mission
from ascentopt.report.flown import Flown, Stretch, Subject
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.labels import Label, place_labels
from ascentopt.report.page.marks import gathered, marked
from ascentopt.report.page.palette import AIR, FAINT, FLIGHT, GROUND, LIMIT, SECOND, SOFT
from ascentopt.typing import Floats
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

_BESIDE = 1.7
"""A target within this many times the greatest altitude is drawn into the main panel."""


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
        _draw_around(round_, flown)
        _draw_unrolled(unrolled, flown)
    else:
        main = figure.add_subplot()
    write_head(figure, flown.title)
    write_foot(figure)
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
        top = float(flown.trajectory.altitude[shown].max())
        near = [a for a, _ in _targets(flown.mission) if a <= _BESIDE * top]
        width = float(flown.trajectory.downrange[shown].max())
        return cls(1.04 * width / km, 1.1 * max([top, *near]) / km, end)


def _targets(mission: Mission) -> list[tuple[float, str]]:
    """Altitudes in m of the target's periapsis and apoapsis, where they are known, and names."""
    orbit, body = mission.orbit, mission.body
    if isinstance(orbit, CircularOrbit):
        return [(orbit.altitude, "target orbit")]
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    pairs = (low, "periapsis of the target"), (high, "apoapsis of the target")
    return [(radius - body.radius, name) for radius, name in pairs if radius is not None]


def _draw_plane(axes: Axes, flown: Flown, plane: _Plane) -> None:
    axes.set(xlim=(0.0, plane.width), ylim=(0.0, plane.height))
    axes.set_aspect(plane.stretch)
    axes.set_xlabel("downrange distance along the surface, km")
    scale = "to the same scale" if plane.stretch == 1 else f"drawn {plane.stretch} times as large"
    axes.set_ylabel(f"altitude, km ({scale})")
    _draw_levels(axes, flown.mission, plane.height)
    lines = [_draw_stretch(axes, flown, s, plane.end) for s in flown.stretches]
    axes.legend(
        handles=_one_each(lines), loc="lower right", fontsize=8, frameon=True, framealpha=0.9
    )
    marks = list(gathered(marked(flown, 0.0, plane.end), plane.width * km, plane.height * km))
    for mark in marks:
        axes.plot(mark.place.downrange / km, mark.place.altitude / km, "o", ms=5, color=GROUND)
    labels = [Label(m.place.downrange / km, m.place.altitude / km, m.text) for m in marks]
    place_labels(axes, labels, avoid=lines)


def _draw_levels(axes: Axes, mission: Mission, top: float) -> None:
    """The ceiling of the air and the target, where they are in sight."""
    air = mission.body.atmosphere
    across = axes.get_yaxis_transform()
    if air is not None:
        axes.axhspan(0.0, air.ceiling / km, color=AIR, lw=0)
        if air.ceiling / km < top:
            axes.axhline(air.ceiling / km, color=SOFT, lw=0.8, ls=":")
            axes.text(0.995, air.ceiling / km, f"ceiling of the air, {air.ceiling / km:g} km",
                      ha="right", va="top", fontsize=8, color=SOFT, transform=across)  # fmt: skip
    for altitude, name in _targets(mission):
        if altitude / km < top:
            axes.axhline(altitude / km, color=LIMIT, lw=1.0, ls="-.")
            text = f"{name}, {round(altitude / km, 1):g} km"
            axes.text(0.005, altitude / km, text, ha="left", va="bottom", fontsize=8,
                      color=LIMIT, transform=across)  # fmt: skip


def _draw_stretch(axes: Axes, flown: Flown, stretch: Stretch, end: float) -> Line2D:
    track = flown.trajectory
    rows = _rows(flown, stretch) & (track.time <= end)
    x, y = track.downrange[rows] / km, track.altitude[rows] / km
    return _line(axes, x, y, burning=stretch.burning)


def _line(axes: Axes, x: Floats, y: Floats, *, burning: bool) -> Line2D:
    if burning:
        (line,) = axes.plot(x, y, color=FLIGHT, lw=2.2, label="engines on")
    else:
        (line,) = axes.plot(x, y, color=SECOND, lw=1.4, ls=(0, (4, 2)), label="coast")
    return line


def _one_each(lines: list[Line2D]) -> list[Line2D]:
    """One line for each label."""
    return list({str(line.get_label()): line for line in lines}.values())


def _rows(flown: Flown, stretch: Stretch) -> np.ndarray:
    """Mask of a stretch's samples."""
    arcs = flown.trajectory.arcs
    return np.concatenate(
        [np.full(len(arc.times), stretch.first <= k <= stretch.last) for k, arc in enumerate(arcs)]
    )


def _swept(flown: Flown) -> Floats:
    """(k,) angle in rad flown around the body's centre since lift-off, inertial."""
    places = flown.trajectory.states[:, :3]
    units = places / np.linalg.norm(places, axis=1, keepdims=True)
    steps = np.linalg.norm(np.diff(units, axis=0), axis=1)
    return np.concatenate(([0.0], np.cumsum(2.0 * np.arcsin(np.minimum(steps / 2.0, 1.0)))))


def _draw_around(axes: Axes, flown: Flown) -> None:
    """The flight to scale in its own plane, lift-off at the top, flying clockwise."""
    from matplotlib.patches import Circle

    body = flown.mission.body
    angle = _swept(flown)
    radius = np.linalg.norm(flown.trajectory.states[:, :3], axis=1) / km
    x, y = radius * np.sin(angle), radius * np.cos(angle)
    axes.add_patch(Circle((0.0, 0.0), body.radius / km, facecolor=FAINT, edgecolor=SOFT, lw=0.8))
    for target, _ in _targets(flown.mission):
        ring = (body.radius + target) / km
        axes.add_patch(Circle((0.0, 0.0), ring, fill=False, ec=LIMIT, lw=0.8, ls="-."))
    for stretch in flown.stretches:
        rows = _rows(flown, stretch)
        _line(axes, x[rows], y[rows], burning=stretch.burning)
        if stretch.burning:
            axes.plot(x[rows][-1], y[rows][-1], "o", ms=4, color=GROUND)
    axes.text(0.0, 0.0, f"{body.name}\n(to scale)", ha="center", va="center", fontsize=9)
    reach = 1.06 * float(max(radius.max(), body.radius / km))
    axes.set(xlim=(-reach, reach), ylim=(-reach, reach), xlabel="km from the centre")
    axes.set_ylabel("km from the centre")
    axes.set_aspect("equal")
    axes.tick_params(labelsize=8)


def _draw_unrolled(axes: Axes, flown: Flown) -> None:
    """Altitude of the whole flight against the angle flown."""
    angle, height = _swept(flown) / deg, flown.trajectory.altitude / km
    air = flown.mission.body.atmosphere
    if air is not None:
        axes.axhspan(0.0, air.ceiling / km, color=AIR, lw=0)
    top = 1.12 * float(height.max())
    axes.set(xlim=(0.0, 1.02 * angle[-1]), ylim=(0.0, top), ylabel="altitude, km")
    axes.set_xlabel("angle flown around the centre (inertial), deg")
    _draw_levels(axes, flown.mission, top)
    lines, labels = [], []
    for stretch in flown.stretches:
        rows = _rows(flown, stretch)
        lines.append(_line(axes, angle[rows], height[rows], burning=stretch.burning))
        if stretch.burning and stretch.end > flown.long_coasts[0].start - 1.0:
            spot = float(angle[rows][-1]), float(height[rows][-1])
            axes.plot(*spot, "o", ms=5, color=GROUND)
            labels.append(Label(*spot, _ended(flown, stretch)))
    place_labels(axes, labels, avoid=lines)


def _ended(flown: Flown, stretch: Stretch) -> str:
    """Name and time of the event that ends a burn."""
    joint = flown.sequence.arcs[stretch.last].joint
    return f"{joint.event}, {stretch.end:.1f} s"
