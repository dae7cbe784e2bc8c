"""Where dispersed flights end beside the orbit asked for."""

from __future__ import annotations

from typing import TYPE_CHECKING, Any

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.guided.outcomes import End
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import FLIGHT, GROUND, LIMIT, PAPER, SOFT
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.typing import Floats
from ascentopt.units import km

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_LEAST = 0.01
"""Kilometres of altitude that an axis spans at least: below ten metres the digits say nothing."""

_DOT: dict[str, Any] = {"ls": "", "ms": 3.0, "mew": 0.6}


@checked
def insertion_figure(flights: DispersedFlights) -> Figure:
    """Draw the orbits that are reached, and what they miss the one asked for by; nothing pops up.

    On the left the altitudes of periapsis and apoapsis of flights that were cut off in orbit, those
    of the nominal flight marked; on the right how far these are off, in place and in speed. Where
    flights ran out of propellant a third panel has their periapsis against the speed missing.

    Raises:
        InputError: where all flights fell.
    """
    from matplotlib.figure import Figure

    end = flights.outcomes.end
    inside, short = end == End.IN_ORBIT, end == End.SHORT
    if not np.any(inside | short):
        raise InputError(
            "insertion_figure: all flights fell; there is nothing to draw. Let less scatter."
        )
    drawn = [
        draw
        for draw, chosen in ((_apsides, inside), (_misses, inside), (_short, short))
        if np.any(chosen)
    ]
    figure = Figure(figsize=(5.0 * len(drawn), 4.8), layout="constrained")
    panels = np.atleast_1d(figure.subplots(1, len(drawn)))
    for axes, draw in zip(panels, drawn, strict=True):
        draw(axes, flights, short if draw is _short else inside)
        axes.grid(visible=True, lw=0.4, color=SOFT, alpha=0.4)
    one = flights.ascent
    write_head(
        figure,
        f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: ends of "
        f"{len(flights)} dispersed flights",
    )
    told = f"{np.sum(inside)} in orbit, {np.sum(short)} short of propellant, "
    write_foot(figure, [f"{told}{flights.fell} fell."])
    return figure


def _apsides(axes: Axes, flights: DispersedFlights, chosen: Floats) -> None:
    found, nominal = flights.outcomes, flights.nominal
    axes.plot(found.periapsis[chosen] / km, found.apoapsis[chosen] / km, "o", color=FLIGHT,
              mfc=PAPER, label="flights", **_DOT)  # fmt: skip
    axes.plot(nominal.periapsis / km, nominal.apoapsis / km, "s", color=GROUND, ms=6.0,
              label="nominal")  # fmt: skip
    axes.set(xlabel="periapsis altitude, km", ylabel="apoapsis altitude, km")
    axes.set(xlim=_widened(*axes.get_xlim()), ylim=_widened(*axes.get_ylim()))
    _plain(axes)
    axes.legend(fontsize=8, loc="lower center", bbox_to_anchor=(0.5, 1.0), ncols=2, frameon=False)


def _misses(axes: Axes, flights: DispersedFlights, chosen: Floats) -> None:
    misses = flights.outcomes.misses
    axes.plot(misses.position[chosen], misses.velocity[chosen], "o", color=FLIGHT, mfc=PAPER,
              **_DOT)  # fmt: skip
    axes.set(xlabel="off in place, m", ylabel="off in velocity, m/s")
    _plain(axes)


def _short(axes: Axes, flights: DispersedFlights, chosen: Floats) -> None:
    found = flights.outcomes
    axes.plot(found.missing_speed[chosen], found.periapsis[chosen] / km, "x", color=LIMIT, **_DOT)
    axes.set(xlabel="speed missing, m/s", ylabel="periapsis altitude of those short, km")
    _plain(axes)


def _widened(low: float, high: float) -> tuple[float, float]:
    """The same span, or the least about its middle."""
    short = max(_LEAST - (high - low), 0.0)
    return low - 0.5 * short, high + 0.5 * short


def _plain(axes: Axes) -> None:
    """Ticks as they are read, without an offset beside the axis, and few enough for long ones."""
    axes.ticklabel_format(useOffset=False, style="plain")
    axes.locator_params(axis="x", nbins=3)
