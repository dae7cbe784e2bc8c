"""Where the delta-v goes: the optimum beside the rules of thumb."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.report.flown import Flown
from ascentopt.report.page.bars import ROW, name_bars
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import GROUND, LOSS_FILLS
from ascentopt.studies.comparison.comparison import Comparison

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_PARTS = ("gravity", "drag", "steering", "back_pressure")


def losses_figure(subject: Comparison | Ascent | Flown) -> Figure:
    """Draw the losses as stacked bars and the help of the body's spin beside them.

    Of a comparison: the optimum and every rule that reaches the orbit. The sums are written out,
    since some of their parts are too small to be told from the bars. Nothing pops up.
    """
    from matplotlib.figure import Figure

    budgets = _budgets(subject)
    height = ROW * len(budgets) + 1.9
    figure = Figure(figsize=(11.0, height), layout="constrained")
    losses, spin = figure.subplots(1, 2, width_ratios=(3.4, 1.0))
    _draw_losses(losses, budgets)
    _draw_spin(spin, budgets)
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
    for row, budget in enumerate(budgets.values()):
        axes.text(right[row] + 0.008 * right.max(), row, _sum(budget), va="center", fontsize=8)
    name_bars(axes, list(budgets))
    axes.set_xlim(1.05 * left.min(), 1.42 * right.max())
    axes.set_xlabel("losses, m/s: gravity + drag + steering + back-pressure")
    axes.legend(fontsize=8, ncols=4, loc="lower center", bbox_to_anchor=(0.5, 1.0), frameon=False)


def _sum(budget: DeltaVBudget) -> str:
    """The parts and their sum in words."""
    parts = [f"{getattr(budget, part):.0f}" for part in _PARTS]
    return f"{' + '.join(parts)} = {budget.losses:.0f}".replace("+ -", "- ")


def _draw_spin(axes: Axes, budgets: dict[str, DeltaVBudget]) -> None:
    values = [budget.rotation for budget in budgets.values()]
    rows = range(len(values))
    axes.barh(rows, values, height=0.6, color="white", edgecolor=GROUND, hatch="\\\\", lw=0.6)
    name_bars(axes, [""] * len(values))
    reach = max(*values, 1.0)
    axes.set_xlim(1.1 * min(*values, 0.0), 1.4 * reach)
    for row, value in zip(rows, values, strict=True):
        axes.text(max(value, 0.0) + 0.02 * reach, row, f"{value:.0f}", va="center", fontsize=8)
    axes.set_xlabel("help from the spin, m/s")
