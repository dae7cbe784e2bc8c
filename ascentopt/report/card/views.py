"""Small plots on a flight card: the pitch, the way and the ground track."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.report.card.steps import Step
from ascentopt.report.flown import Flown, first_shown
from ascentopt.report.page.labels import Label, name_lines, place_labels
from ascentopt.report.page.marks import grouped_dots
from ascentopt.report.page.palette import FLIGHT, GROUND, PAPER, SOFT
from ascentopt.report.page.sheet import A4, MARGIN, Sheet
from ascentopt.report.page.way import draw_levels, draw_way, highest_shown, rows_of
from ascentopt.typing import Floats
from ascentopt.units import deg, km

if TYPE_CHECKING:
    from matplotlib.axes import Axes

Box = tuple[float, float, float, float]
"""Points from the left and from the top of the page, width and height."""

_LOWEST, _HIGHEST = 90.0, 260.0
"""Points of height with which the way and the ground track are drawn."""

_ROOM_LEFT, _ROOM_BELOW, _ROOM_ABOVE = 34.0, 30.0, 26.0
"""Points around a plot for what is written at its axes."""

VIEWS = _LOWEST + _ROOM_ABOVE + _ROOM_BELOW
"""Points of height that the way and the ground track take at least."""

_AFTER = 60.0
"""s of a long coast that the way shows."""

_SIZE = 7.0


def draw_pitch(
    sheet: Sheet, flown: Flown, places: Sequence[tuple[float, float]], frame: tuple[Box, float]
) -> None:
    """Pitch against time up to an instant in s, with a dot at each place (s, rad)."""
    box, end = frame
    axes, track = _axes(sheet, box), flown.trajectory
    shown = track.time <= end
    axes.plot(track.time[shown], track.pitch[shown] / deg, color=FLIGHT, lw=1.4)
    times, pitches = [t for t, _ in places], [p / deg for _, p in places]
    axes.plot(times, pitches, "o", ms=3.6, color=GROUND, mfc=PAPER, mew=1.0)
    lowest = float(np.nanmin(track.pitch[shown])) / deg
    axes.set(xlim=(0.0, 1.03 * end), ylim=(min(0.0, lowest - 3.0), 95.0))
    _label(sheet, axes, "time, s", "pitch of the thrust, deg")


def draw_views(
    sheet: Sheet, flown: Flown, steps: Sequence[Step], room: tuple[float, float]
) -> None:
    """The way and the ground track between two heights of the page, if there is room for them."""
    top, bottom = room[0] + _ROOM_ABOVE, room[1] - _ROOM_BELOW
    height = min(bottom - top, _HIGHEST)
    if height < _LOWEST:
        return
    half = 0.5 * (A4[0] - 2.0 * MARGIN)
    left, width = MARGIN + _ROOM_LEFT, half - _ROOM_LEFT - 8.0
    _draw_way(sheet, flown, steps, (left, top, width, height))
    _draw_track(sheet, flown, steps, (left + half, top, width, height))


def _draw_way(sheet: Sheet, flown: Flown, steps: Sequence[Step], box: Box) -> None:
    """Altitude against downrange distance till a minute into the first long coast."""
    axes, track = _axes(sheet, box), flown.trajectory
    end = first_shown(track, _AFTER)
    shown = track.time <= end
    across = track.downrange / km
    top = 1.12 * highest_shown(flown, shown) / km
    axes.set(xlim=(0.0, 1.04 * float(across[shown].max())), ylim=(0.0, top))
    names = draw_levels(axes, flown, across, shown)
    for stretch in flown.stretches:
        rows = rows_of(flown, stretch) & shown
        draw_way(axes, across[rows], track.altitude[rows] / km, burning=stretch.burning)
    _label(sheet, axes, "downrange distance, km", "altitude, km")
    _title(sheet, axes, "The way" if end >= flown.end else "The way, up to the long coast")
    name_lines(axes, names, size=sheet.size(_SIZE))
    _number(sheet, axes, flown, steps, (across, track.altitude / km, end))


def _draw_track(sheet: Sheet, flown: Flown, steps: Sequence[Step], box: Box) -> None:
    """Latitude against longitude of the point below, the body's spin taken off."""
    axes = _axes(sheet, box)
    east, north = ground_track(flown)
    axes.set_xlim(*_padded(east))
    axes.set_ylim(*_padded(north))
    for stretch in flown.stretches:
        rows = rows_of(flown, stretch)
        draw_way(axes, east[rows], north[rows], burning=stretch.burning)
    _label(sheet, axes, "longitude east of the pad, deg", "latitude, deg")
    _title(sheet, axes, "Ground track: burns solid, coasts dashed")
    _number(sheet, axes, flown, steps, (east, north, flown.end))


def ground_track(flown: Flown) -> tuple[Floats, Floats]:
    """(k,) degrees of longitude east of the pad, unbroken, and of latitude above the ellipsoid."""
    body, track = flown.mission.body, flown.trajectory
    x, y, z = track.states[:, :3].T
    east = np.unwrap(np.arctan2(y, x)) - body.rotation_rate * track.time
    north = np.arctan2(z, np.hypot(x, y) * (1.0 - body.flattening) ** 2)
    return (east - east[0]) / deg, north / deg


def _padded(values: Floats) -> tuple[float, float]:
    """A range with room around it, a degree at least."""
    low, high = float(values.min()), float(values.max())
    room = max(0.08 * (high - low), 0.5)
    return low - room, high + room


def _number(
    sheet: Sheet,
    axes: Axes,
    flown: Flown,
    steps: Sequence[Step],
    curve: tuple[Floats, Floats, float],
) -> None:
    """Dots and numbers of the steps along a curve of samples, up to an instant."""
    x, y, end = curve
    time = flown.trajectory.time
    shown = [(n, step.time) for n, step in enumerate(steps, start=1) if 0.0 < step.time <= end]
    places = [(float(np.interp(t, time, x)), float(np.interp(t, time, y))) for _, t in shown]
    for place in places:
        axes.plot(*place, "o", ms=3.2, color=GROUND)
    labels = []
    for group in grouped_dots(axes, places, _TOGETHER):
        first, last = (shown[k][0] for k in (group[0], group[-1]))
        text = f"{first}" if first == last else f"{first}-{last}"
        labels.append(Label(*places[group[0]], text))
    place_labels(axes, labels, size=sheet.size(_SIZE))


_TOGETHER = 12.0
"""Pixels from one dot to the next within which they share a label."""


def _axes(sheet: Sheet, box: Box) -> Axes:
    left, top, width, height = box
    bottom = A4[1] - top - height
    return sheet.figure.add_axes(
        (left / A4[0], bottom / A4[1], width / A4[0], height / A4[1])
    )


def _label(sheet: Sheet, axes: Axes, across: str, upward: str) -> None:
    size = sheet.size(_SIZE)
    axes.set_xlabel(across, fontsize=size, labelpad=1.5)
    axes.set_ylabel(upward, fontsize=size, labelpad=2.0)
    axes.tick_params(labelsize=size, length=2.0, pad=2.0)
    axes.locator_params(nbins=5)
    axes.grid(visible=True, lw=0.3, color=SOFT, alpha=0.5)


def _title(sheet: Sheet, axes: Axes, text: str) -> None:
    axes.set_title(text, fontsize=sheet.size(8.5), fontweight="bold", loc="left", color=GROUND)
