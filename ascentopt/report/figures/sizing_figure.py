"""A sized vehicle beside the described one, and what a unit of cost buys wherever it is spent."""

from __future__ import annotations

from collections.abc import Sequence
from math import isfinite
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import ABOVE, FAINT, FLIGHT, GROUND, SECOND
from ascentopt.rocket import Vehicle
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.sized_number import SizedNumber

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_ROOM = 1.32
"""Times the longest bar that an axis shows, so that its number has a place behind it."""

_HALF = 0.19
"""Of a row, from its middle to that of each of its two bars."""


@checked
def sizing_figure(sizing: Sizing) -> Figure:
    """Draw the masses as described and as sized, and what spending on each free number buys.

    At an optimum what is bought is the same for all that no bound holds. Nothing pops up.
    """
    from matplotlib.figure import Figure

    rows = len(_masses(sizing.vehicle))
    priced = [one for one in sizing.numbers if one.cost]
    height = ROW * max(1.3 * rows, 1.6 * len(priced)) + 2.4
    figure = Figure(figsize=(11.0, height), layout="constrained")
    if priced:
        masses, bought = figure.subplots(1, 2, width_ratios=(1.2, 1.0))
        _draw_bought(bought, sizing, priced)
    else:
        masses = figure.subplots()
    _draw_masses(masses, sizing)
    mission = sizing.ascent.mission
    subject = f"{sizing.vehicle.name} to {mission.orbit} of {mission.body.name}"
    write_head(figure, f"{subject}: {sizing.objective}")
    write_foot(figure, _notes(sizing))
    return figure


def _masses(vehicle: Vehicle) -> list[tuple[str, float]]:
    """Parts from the top of the stack down, with their kg."""
    found = [("payload", vehicle.payload_mass)]
    found += [("fairing", vehicle.fairing_mass)] if vehicle.fairing is not None else []
    for stage in reversed(vehicle.stages):
        found.append((f"{stage.name}: dry mass", stage.dry_mass))
        found.append((f"{stage.name}: propellant", stage.propellant_mass))
    found += [(group.name, group.mass) for group in vehicle.boosters]
    return [*found, ("all together", vehicle.lift_off_mass)]


def _draw_masses(axes: Axes, sizing: Sizing) -> None:
    given, sized = _masses(sizing.given), _masses(sizing.vehicle)
    most = max(mass for _, mass in (*given, *sized))
    unit, name = (1e3, "t") if most >= 1e3 else (1.0, "kg")
    places = np.arange(len(sized))
    for shift, parts, label, color, hatch in (
        (-_HALF, given, "as described", FAINT, "////"),
        (_HALF, sized, "as sized", FLIGHT, ""),
    ):
        values = [mass / unit for _, mass in parts]
        axes.barh(places + shift, values, height=1.8 * _HALF, color=color, hatch=hatch,
                  edgecolor=GROUND, lw=0.5, label=label)  # fmt: skip
        for place, value in zip(places + shift, values, strict=True):
            _write_behind(axes, value, float(place), f"{value:.3f}", most / unit)
    name_bars(axes, [name for name, _ in sized])
    axes.set_xlim(0.0, _ROOM * most / unit)
    axes.set_xlabel(f"mass, {name}")
    axes.legend(fontsize=8, **ABOVE)


def _draw_bought(axes: Axes, sizing: Sizing, numbers: Sequence[SizedNumber]) -> None:
    values = np.array([one.exchange for one in numbers])
    colors = [FLIGHT if one.is_free else FAINT for one in numbers]
    hatches = ["" if one.is_free else "...." for one in numbers]
    axes.barh(range(len(values)), values, height=0.5, color=colors, hatch=hatches, edgecolor=GROUND,
              lw=0.5)  # fmt: skip
    name_bars(axes, [_named(one) for one in numbers])
    low, high = min(0.0, float(values.min())), max(0.0, float(values.max()))
    if isfinite(sizing.exchange):
        high = max(high, sizing.exchange)
        axes.axvline(sizing.exchange, color=SECOND, ls=(0, (5.0, 2.0)), lw=1.2,
                     label=f"in common {sizing.exchange:.4g}")  # fmt: skip
        axes.legend(fontsize=8, **ABOVE)
    for place, value in enumerate(values):
        _write_behind(axes, max(value, 0.0), place, f"{value:.4g}", high - low)
    axes.axvline(0.0, color=GROUND, lw=0.8)
    axes.set_xlim(1.05 * low, low + _ROOM * (high - low))
    unit = "kg at lift-off" if sizing.counts_mass else "unit of cost"
    axes.set_xlabel(f"payload that one {unit} buys, kg")


def _named(one: SizedNumber) -> str:
    return one.quantity if one.is_free else f"{one.quantity} (at its {one.held_by})"


def _write_behind(axes: Axes, value: float, place: float, text: str, size: float) -> None:
    axes.text(value + 0.015 * size, place, text.replace("-", "\N{MINUS SIGN}"), fontsize=8,
              va="center", color=GROUND)  # fmt: skip


def _notes(sizing: Sizing) -> list[str]:
    """What bounds cost, and what is not drawn."""
    held = [
        f"{one.quantity} is held at its {one.held_by}, {one.value:.6g} {one.unit}; one {one.unit} "
        f"more of it changes the objective by {one.price:+.3g}."
        for one in sizing.numbers
        if one.held_by
    ]
    unpaid = [one.quantity for one in sizing.numbers if not one.cost]
    told = [f"Costs nothing and is free: {', '.join(unpaid)}."] if unpaid else []
    state = [] if sizing.settled else ["The search was stopped before it settled."]
    return [f"{sizing.slope_in_words}.", *held, *told, *state]
