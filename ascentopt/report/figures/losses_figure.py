"""Where the delta-v goes: the optimum beside the rules of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.report.flown import Flown
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import GROUND, LOSS_FILLS, SOFT
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.units import in_places

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PARTS = ("gravity", "drag", "steering", "back_pressure")

_COLUMNS = (*_PARTS, "losses", "rotation")
"""Of the table beside the bars, in m/s."""

_HEADS = ("gravity", "drag", "steering", "back-\npressure", "losses\ntogether", "help of\nthe spin")


@checked
def losses_figure(subject: Comparison | Ascent | Flown) -> Figure:
    """Draw the losses as stacked bars, and tell them and the help of the body's spin in a table.

    Of a comparison: the optimum and every rule that reaches the orbit. What is gained, a loss below
    zero, is stacked to the left. Nothing pops up.
    """
    from matplotlib.figure import Figure

    budgets = _budgets(subject)
    height = ROW * len(budgets) + 2.0
    figure = Figure(figsize=(11.0, height), layout="constrained")
    losses, table = figure.subplots(1, 2, width_ratios=(1.25, 1.0))
    _draw_losses(losses, budgets)
    _write_table(table, budgets)
    write_head(figure, f"{_title(subject)}: delta-v lost on the way")
    write_foot(figure)
    return figure


def _title(subject: Comparison | Ascent | Flown) -> str:
    flown = subject.ascent if isinstance(subject, Comparison) else subject
    return f"{flown.vehicle.name} to {flown.mission.orbit} of {flown.mission.body.name}"


def _budgets(subject: Comparison | Ascent | Flown) -> dict[str, DeltaVBudget]:
    """Budgets by the names of their bars."""
    if not isinstance(subject, Comparison):
        flown = Flown.of(subject)
        return {flown.name: flown.budget}
    flights = {one.name: one.flight for one in subject.outcomes}
    rules = {name: flight.budget for name, flight in flights.items() if flight is not None}
    return {"least propellant": subject.ascent.budget, **rules}


def _draw_losses(axes: Axes, budgets: dict[str, DeltaVBudget]) -> None:
    rows = np.arange(len(budgets))
    right, left = np.zeros(len(rows)), np.zeros(len(rows))
    for part, fill in zip(_PARTS, LOSS_FILLS, strict=True):
        values = np.array([getattr(budget, part) for budget in budgets.values()])
        starts = np.where(values >= 0.0, right, left)  # what is gained is stacked to the left
        axes.barh(rows, values, left=starts, height=0.6, color=fill.color, hatch=fill.hatch,
                  edgecolor=GROUND, lw=0.5, label=part.replace("_", "-"))  # fmt: skip
        right, left = right + np.maximum(values, 0.0), left + np.minimum(values, 0.0)
    name_bars(axes, list(budgets))
    axes.axvline(0.0, color=GROUND, lw=0.8)
    axes.set_xlim(1.05 * left.min(), 1.03 * max(float(right.max()), 1.0))
    axes.set_xlabel("losses, m/s")
    axes.legend(fontsize=8, ncols=4, loc="lower center", bbox_to_anchor=(0.5, 1.0), frameon=False)


def _write_table(axes: Axes, budgets: dict[str, DeltaVBudget]) -> None:
    """The numbers, right beside their bars, in columns."""
    axes.set_axis_off()
    axes.set(xlim=(0.0, float(len(_COLUMNS))), ylim=(len(budgets) - 0.4, -0.6))
    for column, head in enumerate(_HEADS):
        axes.text(column + 0.95, 1.01, head, ha="right", va="bottom", fontsize=8, color=SOFT,
                  transform=axes.get_xaxis_transform())  # fmt: skip
    for row, budget in enumerate(budgets.values()):
        for column, name in enumerate(_COLUMNS):
            text = in_places(getattr(budget, name), 1).replace("-", "\N{MINUS SIGN}")
            weight = "bold" if name == "losses" else "normal"
            axes.text(column + 0.95, row, text, ha="right", va="center", fontsize=8.5, color=GROUND,
                      fontweight=weight)  # fmt: skip
    axes.text(0.5, -0.02, "m/s; losses are what the four together take", ha="center", va="top",
              fontsize=8, color=SOFT, transform=axes.transAxes)  # fmt: skip
