"""Which of what scatters matters most: ranks, and kilograms as flown and by the partials."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import ABOVE, GROUND, LOSS_FILLS, SOFT
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.studies.dispersions.importance import Influence

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_MOST = 14
"""Inputs that are drawn, those with the greatest rank correlations."""

_THIN = 0.3


@checked
def importance_figure(flights: DispersedFlights) -> Figure:
    """Draw a bar for each input, the one that matters most at the top; nothing pops up.

    On the left the rank correlation with the propellant left; on the right what a standard
    deviation of the input costs or gives: as flown, by least squares over all inputs at once, and
    to first order by the partials of the optimum.
    """
    from matplotlib.figure import Figure

    found = flights.importance()
    rows = found.rows[:_MOST]
    figure = Figure(figsize=(11.0, ROW * len(rows) + 2.2), layout="constrained")
    left, right = figure.subplots(1, 2, width_ratios=(1.0, 1.15))
    _draw_ranks(left, rows)
    _draw_kilograms(right, rows)
    one = flights.ascent
    write_head(
        figure,
        f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: what matters for "
        f"the propellant left, by {found.flights} flights",
    )
    explained = (
        f"A straight line in all inputs explains {100 * found.explained:.1f} % of the variance; a "
        f"rank correlation of nothing is off by {1 / np.sqrt(found.flights):.3f} or so."
    )
    notes = [explained]
    if len(rows) < len(found.rows):
        notes.append(f"{len(found.rows) - len(rows)} inputs that matter less are not drawn.")
    write_foot(figure, notes)
    return figure


def _draw_ranks(axes: Axes, rows: tuple[Influence, ...]) -> None:
    fill = LOSS_FILLS[0]
    axes.barh(range(len(rows)), [one.rank for one in rows], height=0.6, color=fill.color)
    name_bars(axes, [one.name for one in rows])
    axes.axvline(0.0, color=GROUND, lw=0.8)
    axes.set_xlim(-1.0, 1.0)
    axes.set_xlabel("rank correlation with the propellant left, -")


def _draw_kilograms(axes: Axes, rows: tuple[Influence, ...]) -> None:
    places = np.arange(len(rows), dtype=float)
    sides = (
        ("flown", [one.regression for one in rows], -0.5, LOSS_FILLS[2]),
        ("by partials", [one.first_order for one in rows], 0.5, LOSS_FILLS[1]),
    )
    for label, values, side, fill in sides:
        axes.barh(places + side * _THIN, np.nan_to_num(values), height=_THIN, color=fill.color,
                  hatch=fill.hatch, edgecolor=GROUND, lw=0.4, label=label)  # fmt: skip
    name_bars(axes, [""] * len(rows))
    axes.axvline(0.0, color=GROUND, lw=0.8)
    for place, one in zip(places, rows, strict=True):
        if np.isnan(one.first_order):
            axes.annotate("no partial", (0.0, place + 0.5 * _THIN), xytext=(4.0, 0.0),
                          textcoords="offset points", ha="left", va="center", fontsize=6.5,
                          color=SOFT)  # fmt: skip
    axes.set_xlabel("propellant left, kg for a standard deviation")
    axes.legend(fontsize=8, **ABOVE)
