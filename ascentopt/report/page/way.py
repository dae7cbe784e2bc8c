"""The way of a flight beside the air, the body and the orbit aimed at."""

from __future__ import annotations

from math import pi
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.report.flown import Flown, Stretch
from ascentopt.report.page.labels import Name
from ascentopt.report.page.palette import AIR, FAINT, FLIGHT, GROUND, LIMIT, SECOND, SOFT
from ascentopt.report.target_orbit import TargetOrbit, swept
from ascentopt.typing import Floats
from ascentopt.units import km

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

_BESIDE = 2.2
"""A target within this many times the greatest altitude is drawn beside the flight."""

_FLAT = 0.03
"""Of a panel's height: what lies lower cannot be told from its edge."""


def highest_shown(flown: Flown, shown: np.ndarray) -> float:
    """Metres that a panel of altitude reaches up to: the flight's, or the target's if it is near.

    `shown` is a mask of the samples.
    """
    top = float(flown.trajectory.altitude[shown].max())
    target = float(TargetOrbit.of(flown).altitude(flown)[shown].max())
    return target if top < target <= _BESIDE * top else top


def draw_levels(axes: Axes, flown: Flown, across: Floats, shown: np.ndarray) -> list[Name]:
    """The air, its ceiling and the target orbit where they are in sight; their names to be written.

    `across` are the abscissae (k,) of the samples, `shown` the mask of those that are drawn; the
    axes have their limits.
    """
    names, top = [], axes.get_ylim()[1]
    air = flown.mission.body.atmosphere
    if air is not None:
        axes.axhspan(0.0, air.ceiling / km, color=AIR, lw=0, zorder=0)
        if _FLAT * top < air.ceiling / km < top:
            line = axes.axhline(air.ceiling / km, color=SOFT, lw=0.8, ls=":")
            names.append(Name(line, f"ceiling of the air, {air.ceiling / km:g} km"))
    orbit = TargetOrbit.of(flown)
    height = orbit.altitude(flown)[shown] / km
    if np.any((height > _FLAT * top) & (height < top)):
        (line,) = axes.plot(across[shown], height, color=LIMIT, lw=1.0, ls="-.")
        names.insert(0, Name(line, orbit.text))
    return names


def draw_way(axes: Axes, x: Floats, y: Floats, *, burning: bool) -> Line2D:
    """A burn, or a coast."""
    if burning:
        (line,) = axes.plot(x, y, color=FLIGHT, lw=2.2, label="engines on")
    else:
        (line,) = axes.plot(x, y, color=SECOND, lw=1.4, ls=(0, (4, 2)), label="coast")
    return line


def rows_of(flown: Flown, stretch: Stretch) -> np.ndarray:
    """Mask of a stretch's samples."""
    arcs = flown.trajectory.arcs
    return np.concatenate(
        [np.full(len(arc.times), stretch.first <= k <= stretch.last) for k, arc in enumerate(arcs)]
    )


def draw_around(axes: Axes, flown: Flown) -> None:
    """The flight and its target to scale around the body, lift-off at the top, flying clockwise."""
    from matplotlib.patches import Circle

    body, orbit = flown.mission.body, TargetOrbit.of(flown)
    angle = swept(flown)
    radius = np.linalg.norm(flown.trajectory.states[:, :3], axis=1) / km
    x, y = radius * np.sin(angle), radius * np.cos(angle)
    axes.add_patch(Circle((0.0, 0.0), body.radius / km, facecolor=FAINT, edgecolor=SOFT, lw=0.8))
    turn = np.linspace(0.0, 2.0 * pi, 361)
    ring = orbit.radius(turn) / km
    axes.plot(ring * np.sin(turn), ring * np.cos(turn), color=LIMIT, lw=0.9, ls="-.")
    for stretch in flown.stretches:
        rows = rows_of(flown, stretch)
        draw_way(axes, x[rows], y[rows], burning=stretch.burning)
        if stretch.burning:
            axes.plot(x[rows][-1], y[rows][-1], "o", ms=4, color=GROUND)
    _frame(axes, np.array([*x, *ring * np.sin(turn)]), np.array([*y, *ring * np.cos(turn)]))
    axes.set_title(f"{body.name} to scale, {orbit.text}", fontsize=8, color=GROUND)


def _frame(axes: Axes, x: Floats, y: Floats) -> None:
    """A square that holds the orbit and the flight, with round numbers that keep apart."""
    half = 0.53 * float(max(np.ptp(x), np.ptp(y)))
    centre = 0.5 * float(x.min() + x.max()), 0.5 * float(y.min() + y.max())
    axes.set(xlim=(centre[0] - half, centre[0] + half), ylim=(centre[1] - half, centre[1] + half))
    axes.set_aspect("equal")
    axes.locator_params(nbins=4)
    axes.tick_params(labelsize=8)
    axes.set(xlabel="km from the centre", ylabel="km from the centre")
