"""Columns of a flight against time, each with its limit."""

from __future__ import annotations

from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.flight.results.telemetry import Column
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import FlightLimits
from ascentopt.optimal.problem.violations import DENSE
from ascentopt.report.page.labels import Name
from ascentopt.report.page.palette import FLIGHT, LIMIT, SECOND, THIRD
from ascentopt.units import STANDARD_GRAVITY, deg, km, kPa, tonne

if TYPE_CHECKING:
    from matplotlib.axes import Axes

_STROKES = ((FLIGHT, "-", 1.8), (SECOND, (0, (5, 2)), 1.4), (THIRD, (0, (1.2, 1.2)), 1.8))

_ROOM = 1.2
"""Times a limit that its panel is high: there must be room for its name above it."""


class Curve(NamedTuple):
    """A column and what it is called; `only_dense`: where the air is dense enough to count."""

    column: Column
    name: str = ""
    only_dense: bool = False


class Panel(NamedTuple):
    """Curves that share an axis: what it says, and its scale.

    `limit` names the field of `FlightLimits` that is drawn.
    """

    label: str
    scale: float
    curves: tuple[Curve, ...]
    limit: str | None = None


ALTITUDE = Panel("altitude, km", km, (Curve(Trajectory.altitude),))
SPEED = Panel(
    "speed, km/s",
    1e3,
    (Curve(Trajectory.speed, "inertial"), Curve(Trajectory.air_speed, "relative to the air")),
)
PRESSURE = Panel(
    "dynamic pressure q, kPa", kPa, (Curve(Trajectory.dynamic_pressure),), "dynamic_pressure"
)
Q_ALPHA = Panel(
    "q times angle of attack, kPa deg", kPa * deg, (Curve(Trajectory.q_alpha),), "q_alpha"
)
ACCELERATION = Panel(
    "axial acceleration, g",
    STANDARD_GRAVITY,
    (Curve(Trajectory.axial_acceleration),),
    "axial_acceleration",
)
MASS = Panel("mass, t", tonne, (Curve(Trajectory.mass),))
THROTTLE = Panel("throttle of the core", 1.0, (Curve(Trajectory.throttle),))


def draw_panel(
    axes: Axes, track: Trajectory, panel: Panel, limits: FlightLimits, shown: np.ndarray
) -> list[Name]:
    """Draw the curves and the limit; the names that are to be written along lines.

    The axes have their limits of time; `shown` is a mask of the samples.
    """
    lines = []
    for (column, _, dense), (color, dashes, width) in zip(panel.curves, _STROKES, strict=False):
        values = column.__get__(track, Trajectory) / panel.scale
        if dense:
            values = np.where(track.dynamic_pressure > DENSE, values, np.nan)
        lines += axes.plot(track.time[shown], values[shown], color=color, ls=dashes, lw=width)
    axes.set_ylabel(panel.label, fontsize=9)
    axes.tick_params(labelsize=8)
    named = [
        Name(line, curve.name)
        for line, curve in zip(lines, panel.curves, strict=False)
        if curve.name
    ]
    return [*_limit(axes, panel, limits), *named]


def _limit(axes: Axes, panel: Panel, limits: FlightLimits) -> list[Name]:
    """Draw the limit, and leave room above it."""
    value = getattr(limits, panel.limit) if panel.limit else None
    low, high = axes.get_ylim()
    if value is None:
        axes.set_ylim(min(low, 0.0), high)
        return []
    told = value / panel.scale
    axes.set_ylim(min(low, 0.0), max(high, _ROOM * told))
    line = axes.axhline(told, color=LIMIT, lw=1.1, ls="-.")
    return [Name(line, f"limit {told:.4g}")]
