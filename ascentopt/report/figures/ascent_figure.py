"""One page that shows an ascent."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import FlightLimits
from ascentopt.optimal.problem.violations import DENSE
from ascentopt.report.flown import Flown, Subject, first_shown
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
from ascentopt.report.page.labels import Label, name_lines, place_labels
from ascentopt.report.page.marks import (
    Numbered,
    draw_marks,
    draw_numbers,
    grouped_dots,
    numbered,
)
from ascentopt.report.page.palette import GROUND
from ascentopt.report.page.way import draw_around, draw_levels, draw_way, highest_shown, rows_of
from ascentopt.report.target_orbit import lower_ground
from ascentopt.typing import Floats
from ascentopt.units import deg, km

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_AFTER = 60.0
"""s of a long coast that are shown."""

_TOGETHER = 20.0
"""Pixels from one dot to the next within which no label finds room between the two."""

_GROUND_SPEED = Panel(
    "speed, km/s",
    1e3,
    (Curve(Trajectory.speed, "inertial"), Curve(Trajectory.air_speed, "over the ground")),
)
_ATTITUDE = Panel(
    "above the local horizon, deg",
    deg,
    (
        Curve(Trajectory.pitch, "thrust"),
        Curve(Trajectory.air_flight_path_angle, "motion"),
    ),
)
_ATTACK = Panel(
    f"angle of attack, q above {DENSE:.0f} Pa, deg",
    deg,
    (Curve(Trajectory.angle_of_attack, only_dense=True),),
    "angle_of_attack",
)


class _View(NamedTuple):
    """What of a flight is shown: samples up to a time in s, and the numbered events till then."""

    flown: Flown
    end: float
    marks: Sequence[Numbered]

    @property
    def shown(self) -> Floats:
        """Mask of the samples."""
        return np.asarray(self.flown.trajectory.time <= self.end)


@checked
def ascent_figure(subject: Subject) -> Figure:
    """Draw the way, the orbit aimed at, speeds, attitude, and loads with limits; nothing pops up.

    Numbered lines in the panels against time are the events that are named along the way. Panels
    end a minute into a coast of more than ten minutes; a note says so, and the whole flight is
    drawn around the body.
    """
    from matplotlib.figure import Figure

    flown = Flown.of(subject)
    view = _view(flown)
    figure = Figure(figsize=(12.0, 10.0), layout="constrained")
    grid = figure.add_gridspec(3, 3, height_ratios=(1.15, 1.0, 1.0))
    way = figure.add_subplot(grid[0, :2])
    draw_around(figure.add_subplot(grid[0, 2]), flown)
    panels = [
        (figure.add_subplot(grid[1 + k // 3, k % 3]), panel)
        for k, panel in enumerate(_panels_of(flown))
    ]
    write_head(figure, f"{flown.title}, {_left(flown)}")
    write_foot(figure, _notes(view))
    _draw_way(way, view)
    for axes, panel in panels:
        _draw_panel(axes, view, panel)
    return figure


def _view(flown: Flown) -> _View:
    end = first_shown(flown.trajectory, _AFTER)
    return _View(flown, end, numbered(flown, end, lambda time: time / end))


def _panels_of(flown: Flown) -> tuple[Panel, ...]:
    """Six panels; without air there are no loads by it to show."""
    limits = flown.mission.limits
    if flown.mission.body.atmosphere is None:
        return (ALTITUDE, _GROUND_SPEED, _ATTITUDE, MASS, THROTTLE, ACCELERATION)
    fourth = ALTITUDE if limits.angle_of_attack is None else _ATTACK
    return (fourth, SPEED, _ATTITUDE, PRESSURE, Q_ALPHA, ACCELERATION)


def _left(flown: Flown) -> str:
    """All that is left beyond the reserve, in whichever stage."""
    left = flown.propellant_left + flown.sequence.untouched
    return f"{left:.0f} kg of propellant left"


def _notes(view: _View) -> list[str]:
    flown = view.flown
    notes = ["Numbers name the events; burns are drawn solid, coasts dashed."]
    notes += [note] if (note := lower_ground(flown)) else []
    if unlit := flown.sequence.untouched:
        notes.append(f"Of the propellant left {unlit:.0f} kg stay in stages that are not lit.")
    if view.end < flown.end:
        notes.append(
            f"The coast goes on (not shown) till {_next_burn(view):.0f} s; {flown.ending} is at "
            f"{flown.end:.0f} s."
        )
    return notes


def _next_burn(view: _View) -> float:
    coast = next(one for one in view.flown.long_coasts if one.end >= view.end)
    return coast.end


def _draw_way(axes: Axes, view: _View) -> None:
    flown, shown = view.flown, view.shown
    across, height = flown.trajectory.downrange / km, flown.trajectory.altitude / km
    top, width = 1.1 * highest_shown(flown, shown) / km, 1.03 * float(across[shown].max())
    axes.set(xlim=(0.0, width), ylim=(0.0, top))
    axes.set(xlabel="downrange distance along the surface, km", ylabel="altitude, km")
    names = draw_levels(axes, flown, across, shown)
    for stretch in flown.stretches:
        rows = rows_of(flown, stretch) & shown
        if np.any(rows):
            draw_way(axes, across[rows], height[rows], burning=stretch.burning)
    for event in (event for mark in view.marks for event in mark.events):
        axes.plot(event.downrange / km, event.altitude / km, "o", ms=5, color=GROUND)
    name_lines(axes, names)
    place_labels(axes, list(_labels(axes, view)))


def _labels(axes: Axes, view: _View) -> Iterator[Label]:
    """Numbers, names and times; events whose dots all but touch share a label at the first."""
    pairs = [pair for mark in view.marks for pair in mark.pairs]
    places = [(e.downrange / km, e.altitude / km) for _, e in pairs]
    for group in grouped_dots(axes, places, _TOGETHER):
        texts = [f"{pairs[k][0]} {pairs[k][1].name}, {pairs[k][1].time:.1f} s" for k in group]
        yield Label(*places[group[0]], "\n".join(texts))


def _draw_panel(axes: Axes, view: _View, panel: Panel) -> None:
    limits: FlightLimits = view.flown.mission.limits
    axes.set_xlabel("time since lift-off, s", fontsize=9)
    axes.set_xlim(0.0, view.end)
    names = draw_panel(axes, view.flown.trajectory, panel, limits, view.shown)
    draw_marks(axes, view.marks)
    draw_numbers(axes, view.marks)
    name_lines(axes, names)
