"""A flight against time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.report.flown import Flown, Subject
from ascentopt.report.page.clock import Clock
from ascentopt.report.page.curves import (
    ACCELERATION,
    ALTITUDE,
    MASS,
    PRESSURE,
    Q_ALPHA,
    SPEED,
    THROTTLE,
    Curve,
    Panel,
    draw_panel,
)
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.labels import name_lines
from ascentopt.report.page.marks import Numbered, draw_marks, draw_numbers, numbered
from ascentopt.report.target_orbit import lower_ground
from ascentopt.units import deg

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ATTITUDE = Panel(
    "above the local horizon, deg",
    deg,
    (
        Curve(Trajectory.pitch, "pitch of the thrust"),
        Curve(Trajectory.air_flight_path_angle, "path, relative to the air"),
        Curve(Trajectory.flight_path_angle, "path, inertial"),
    ),
)
_PANELS = (ALTITUDE, SPEED, _ATTITUDE, MASS, PRESSURE, THROTTLE, Q_ALPHA, ACCELERATION)


@checked
def history_figure(subject: Subject) -> Figure:
    """Draw altitude, speeds, angles, loads, mass and throttle against time; nothing pops up.

    A coast of more than ten minutes is squeezed to a hatched strip. Limits of the mission are drawn
    where their load is; numbered lines mark the events, which are listed below.
    """
    from matplotlib.figure import Figure

    flown = Flown.of(subject)
    clock = Clock.of(flown)
    figure = Figure(figsize=(10.0, 11.5), layout="constrained")
    grid = figure.subplots(4, 2)
    marks = numbered(flown, flown.end, lambda time: float(clock.forward(time)))
    notes = [note] if (note := lower_ground(flown)) else []
    write_head(figure, flown.title)
    write_foot(figure, [*_key(marks), *clock.notes, *notes])
    for axes in grid[-1]:
        axes.set_xlabel("time since lift-off, s")
    for axes, panel in zip(grid.flat, _PANELS, strict=True):
        _draw_panel(axes, flown, (clock, marks), panel)
    return figure


def _draw_panel(
    axes: Axes, flown: Flown, time: tuple[Clock, Sequence[Numbered]], panel: Panel
) -> None:
    clock, marks = time
    clock.dress(axes, most=9)
    track = flown.trajectory
    everything = np.full(len(track.time), fill_value=True)
    names = draw_panel(axes, track, panel, flown.mission.limits, everything)
    draw_marks(axes, marks)
    draw_numbers(axes, marks)
    name_lines(axes, names)


def _key(marks: Sequence[Numbered]) -> list[str]:
    """What the numbers stand for, a few to the line."""
    pairs = [pair for mark in marks for pair in mark.pairs]
    texts = [f"{number} {event.name} {event.time:.1f} s" for number, event in pairs]
    return [";  ".join(texts[k : k + 5]) for k in range(0, len(texts), 5)]
