"""One page that shows an ascent."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ascentopt.flight.results.telemetry import Readings
from ascentopt.optimal.result.ascent import CAUTION, Ascent
from ascentopt.report.flown import first_shown
from ascentopt.report.page.foot import write_head
from ascentopt.report.page.palette import AIR, FLIGHT, GROUND, LIMIT, SECOND, SOFT
from ascentopt.units import deg, km, kPa

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure


def ascent_figure(ascent: Ascent) -> Figure:
    """Draw trajectory, speeds, attitude, loads and mass of an ascent; nothing pops up.

    Panels against time end where a coast of more than ten minutes begins; a note says so.
    """
    from matplotlib.figure import Figure

    figure = Figure(figsize=(11.0, 9.0), layout="constrained")
    axes = figure.subplot_mosaic([["path", "path"], ["climb", "attitude"], ["loads", "mass"]])
    shown = _shown(ascent)
    _path(axes["path"], ascent, shown)
    _climb(axes["climb"], ascent, shown)
    _attitude(axes["attitude"], ascent, shown)
    _loads(axes["loads"], ascent, shown)
    _mass(axes["mass"], ascent, shown)
    write_head(
        figure,
        f"{ascent.vehicle.name}: {ascent.mission.orbit}, {ascent.plan}, "
        f"{ascent.propellant_margin:.0f} kg of propellant left",
    )
    figure.supxlabel(_note(ascent, shown), fontsize=8, color=SOFT)
    return figure


def _shown(ascent: Ascent) -> Any:
    """Mask of the samples before the first long coast, and in its first minute."""
    return ascent.trajectory.time <= first_shown(ascent.trajectory, 60.0)


def _note(ascent: Ascent, shown: Any) -> str:
    if np.all(shown):
        return CAUTION
    rest = f"The coast goes on to the insertion at {ascent.flight_time:.0f} s (not shown). "
    return rest + CAUTION


def _column(ascent: Ascent, name: str, shown: Any) -> Any:
    return np.asarray(getattr(ascent.trajectory, name))[shown]


def _path(axes: Axes, ascent: Ascent, shown: Any) -> None:
    downrange, height = (_column(ascent, n, shown) / km for n in ("downrange", "altitude"))
    axes.plot(downrange, height, color=FLIGHT, lw=2)
    air = ascent.mission.body.atmosphere
    if air is not None:
        axes.axhspan(0.0, air.ceiling / km, color=AIR, lw=0)
        axes.text(0.995, air.ceiling / km, "ceiling of the air ", ha="right", va="bottom",
                  fontsize=8, color=SOFT, transform=axes.get_yaxis_transform())  # fmt: skip
    last = downrange.max()
    top = float(height.max())
    named = [e for e in ascent.events if e.downrange / km <= last and e.altitude > 0.01 * top * km]
    for event, later in zip(named, [*named[1:], None], strict=True):
        place = event.downrange / km, event.altitude / km
        axes.plot(*place, "o", ms=5, color=GROUND)
        crowded = later is not None and (later.downrange - event.downrange) / km < 0.04 * last
        # Separation and ignition lie next to each other: the earlier one is named lower down.
        below = (8, -20 if crowded else -11)
        axes.annotate(event.name, place, xytext=below, fontsize=8, textcoords="offset points")
    axes.set(xlabel="downrange, km", ylabel="altitude, km", ylim=(0.0, None), xlim=(0.0, None))


def _marks(axes: Axes, ascent: Ascent, shown: Any) -> None:
    """Vertical lines at the events, and the axis of time."""
    end = float(ascent.trajectory.time[shown].max())
    for event in ascent.events:
        if 0.0 < event.time < end:
            axes.axvline(event.time, color=SOFT, lw=0.6, alpha=0.6)
    axes.set(xlabel="time since lift-off, s", xlim=(0.0, end))


def _climb(axes: Axes, ascent: Ascent, shown: Any) -> None:
    time = ascent.trajectory.time[shown]
    axes.plot(time, _column(ascent, "altitude", shown) / km, color=FLIGHT)
    axes.set_ylabel("altitude, km", color=FLIGHT)
    right = axes.twinx()
    right.plot(time, _column(ascent, "speed", shown) / 1e3, color=SECOND, ls="--")
    right.set_ylabel("inertial speed, km/s", color=SECOND)
    _marks(axes, ascent, shown)


def _attitude(axes: Axes, ascent: Ascent, shown: Any) -> None:
    time = ascent.trajectory.time[shown]
    axes.plot(time, _column(ascent, "pitch", shown) / deg, color=FLIGHT, label="pitch of thrust")
    path = _column(ascent, Readings.air_flight_path_angle.name, shown) / deg
    axes.plot(time, path, color=SECOND, ls="--", label="flight-path angle, air-relative")
    axes.set_ylabel("above the local horizon, deg")
    axes.legend(fontsize=8, frameon=False)
    _marks(axes, ascent, shown)


def _loads(axes: Axes, ascent: Ascent, shown: Any) -> None:
    time = ascent.trajectory.time[shown]
    limits = ascent.mission.limits
    axes.plot(time, _column(ascent, "dynamic_pressure", shown) / kPa, color=FLIGHT)
    axes.set_ylabel("dynamic pressure, kPa", color=FLIGHT)
    right = axes.twinx()
    right.plot(time, _column(ascent, "q_alpha", shown) / (kPa * deg), color=SECOND, ls="--")
    right.set_ylabel("q-alpha, kPa deg", color=SECOND)
    if limits.dynamic_pressure is not None:
        axes.axhline(limits.dynamic_pressure / kPa, color=LIMIT, lw=1)
        axes.text(1.0, limits.dynamic_pressure / kPa, "limit of q ", ha="right", va="top",
                  fontsize=8, color=LIMIT, transform=axes.get_yaxis_transform())  # fmt: skip
    if limits.q_alpha is not None:
        right.axhline(limits.q_alpha / (kPa * deg), color=LIMIT, lw=1, ls="--")
        right.text(0.5, limits.q_alpha / (kPa * deg), "limit of q-alpha ", ha="right",
                   va="top", fontsize=8, color=LIMIT,
                   transform=right.get_yaxis_transform())  # fmt: skip
    # Unequal room above the curves keeps the two limits apart where both are reached.
    axes.set_ylim(0.0, 1.08 * axes.get_ylim()[1])
    right.set_ylim(0.0, 1.45 * right.get_ylim()[1])
    _marks(axes, ascent, shown)


def _mass(axes: Axes, ascent: Ascent, shown: Any) -> None:
    time = ascent.trajectory.time[shown]
    axes.plot(time, ascent.trajectory.states[shown, 6] / 1e3, color=FLIGHT)
    axes.set_ylabel("mass, t", color=FLIGHT)
    axes.set_ylim(0.0, None)
    right = axes.twinx()
    right.plot(time, _column(ascent, "axial_acceleration", shown) / 9.80665, color=SECOND, ls="--")
    right.set_ylabel("axial acceleration, g", color=SECOND)
    _marks(axes, ascent, shown)
