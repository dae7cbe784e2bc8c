"""A flight against time."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

from ascentopt.flight.results.events import Event
from ascentopt.flight.results.telemetry import Column
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import FlightLimits
from ascentopt.report.flown import Flown, Subject
from ascentopt.report.page.clock import Clock
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.marks import marked
from ascentopt.report.page.palette import FLIGHT, GROUND, LIMIT, SECOND, SOFT, THIRD
from ascentopt.units import STANDARD_GRAVITY, deg, km, kPa, tonne

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_STROKES = ((FLIGHT, "-", 1.8), (SECOND, (0, (5, 2)), 1.4), (THIRD, (0, (1.2, 1.2)), 1.8))

_CLOSE = 0.05
"""Marks nearer than this share of the axis stand under one number."""


class _Panel(NamedTuple):
    """Curves that share an axis: what it says, its scale, and each curve's column and name.

    `limit` names the field of `FlightLimits` that is drawn.
    """

    label: str
    scale: float
    curves: tuple[tuple[Column, str], ...]
    limit: str | None = None


_PANELS = (
    _Panel("altitude, km", km, ((Trajectory.altitude, ""),)),
    _Panel(
        "speed, km/s",
        1e3,
        ((Trajectory.speed, "inertial"), (Trajectory.air_speed, "relative to the air")),
    ),
    _Panel(
        "above the local horizon, deg",
        deg,
        (
            (Trajectory.pitch, "pitch of the thrust"),
            (Trajectory.air_flight_path_angle, "flight path, relative to the air"),
            (Trajectory.flight_path_angle, "flight path, inertial"),
        ),
    ),
    _Panel("mass, t", tonne, ((Trajectory.mass, ""),)),
    _Panel(
        "dynamic pressure q, kPa", kPa, ((Trajectory.dynamic_pressure, ""),), "dynamic_pressure"
    ),
    _Panel("throttle of the core", 1.0, ((Trajectory.throttle, ""),)),
    _Panel("q times angle of attack, kPa deg", kPa * deg, ((Trajectory.q_alpha, ""),), "q_alpha"),
    _Panel(
        "axial acceleration, g",
        STANDARD_GRAVITY,
        ((Trajectory.axial_acceleration, ""),),
        "axial_acceleration",
    ),
)


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
    marks = list(_numbered(flown, clock))
    for axes, panel in zip(grid.flat, _PANELS, strict=True):
        _draw_panel(axes, flown, clock, panel)
        _draw_marks(axes, marks)
    for axes in grid[0]:
        _draw_numbers(axes, marks)
    for axes in grid[-1]:
        axes.set_xlabel("time since lift-off, s")
    write_head(figure, flown.title)
    write_foot(figure, [*_key(marks), *clock.notes])
    return figure


def _draw_panel(axes: Axes, flown: Flown, clock: Clock, panel: _Panel) -> None:
    clock.dress(axes, most=9)
    time = flown.trajectory.time
    for (column, name), (color, dashes, width) in zip(panel.curves, _STROKES, strict=False):
        values = column.__get__(flown.trajectory, Trajectory) / panel.scale
        axes.plot(time, values, color=color, ls=dashes, lw=width, label=name)
    axes.set_ylabel(panel.label)
    axes.tick_params(labelsize=8)
    if len(panel.curves) > 1:
        axes.legend(fontsize=8, frameon=True, framealpha=0.9, edgecolor="none")
    _draw_limit(axes, flown.mission.limits, panel)


def _draw_limit(axes: Axes, limits: FlightLimits, panel: _Panel) -> None:
    value = getattr(limits, panel.limit) if panel.limit else None
    low, high = axes.get_ylim()
    if value is None:
        axes.set_ylim(min(low, 0.0), high)
        return
    shown = value / panel.scale
    axes.axhline(shown, color=LIMIT, lw=1.1, ls="-.")
    axes.text(0.99, shown, f"limit {shown:.4g}", ha="right", va="bottom", fontsize=8,
              color=LIMIT, transform=axes.get_yaxis_transform())  # fmt: skip
    axes.set_ylim(min(low, 0.0), max(high, 1.16 * shown))


def _numbered(flown: Flown, clock: Clock) -> Iterator[tuple[str, float, Sequence[Event]]]:
    """Numbers, time and events of each mark; events close together share one."""
    groups: list[list[Event]] = []
    for event in marked(flown, 0.0, flown.end):
        near = groups and _place(clock, event) - _place(clock, groups[-1][0]) < _CLOSE
        if near:
            groups[-1].append(event)
        else:
            groups.append([event])
    count = 0
    for group in groups:
        first, count = count + 1, count + len(group)
        number = str(first) if first == count else f"{first}-{count}"
        yield number, group[0].time, group


def _place(clock: Clock, event: Event) -> float:
    return float(clock.forward(event.time))


def _draw_marks(axes: Axes, marks: list[tuple[str, float, Sequence[Event]]]) -> None:
    for event in (event for _, _, events in marks for event in events):
        axes.axvline(event.time, color=SOFT, lw=0.6, alpha=0.7, zorder=0.5)


def _draw_numbers(axes: Axes, marks: list[tuple[str, float, Sequence[Event]]]) -> None:
    for number, time, _ in marks:
        axes.text(time, 1.015, number, ha="center", va="bottom", fontsize=8, color=GROUND,
                  transform=axes.get_xaxis_transform())  # fmt: skip


def _key(marks: list[tuple[str, float, Sequence[Event]]]) -> list[str]:
    """What the numbers stand for, a few to the line."""
    events = [event for _, _, group in marks for event in group]
    texts = [f"{k} {e.name} {e.time:.1f} s" for k, e in enumerate(events, start=1)]
    return [";  ".join(texts[k : k + 5]) for k in range(0, len(texts), 5)]
