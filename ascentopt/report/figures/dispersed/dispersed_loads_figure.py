"""Loads of dispersed flights beside their limits."""

from __future__ import annotations

from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.mission.limits import SCALES
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.palette import ABOVE, GROUND, LIMIT, LOSS_FILLS, SOFT
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.studies.dispersions.load_shares import LoadShare
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

_BINS = 40


@checked
def dispersed_loads_figure(flights: DispersedFlights, *, confidence: float = 0.9) -> Figure:
    """Draw how great the loads of the flights are, a panel for each; nothing pops up.

    A load that has a limit is drawn with it, and with the share of flights that is shown to keep it
    at the confidence given.

    Raises:
        InputError: for a confidence that is not between 0 and 1.
    """
    from matplotlib.figure import Figure

    rows = flights.loads(confidence=confidence).rows
    figure = Figure(figsize=(4.4 * len(rows), 4.6), layout="constrained")
    panels = np.atleast_1d(figure.subplots(1, len(rows)))
    for axes, row in zip(panels, rows, strict=True):
        _draw_load(axes, row, getattr(flights.outcomes.loads, row.name))
    panels[0].set_ylabel("flights")
    one = flights.ascent
    write_head(
        figure,
        f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}: greatest loads of "
        f"{len(flights)} dispersed flights",
    )
    write_foot(figure, [f"Shares are shown at a confidence of {100 * confidence:g} %."])
    return figure


def _draw_load(axes: Axes, row: LoadShare, values: Floats) -> None:
    size, unit = SCALES.get(row.name, (1.0, row.unit))
    fill = LOSS_FILLS[2]
    counts, edges = np.histogram(values / size, _BINS)
    axes.bar(edges[:-1], counts, width=np.diff(edges), align="edge", color=fill.color,
             edgecolor=GROUND, lw=0.3)  # fmt: skip
    axes.set_ylim(0.0, 1.1 * float(counts.max()))
    axes.axvline(row.median / size, color=GROUND, lw=1.0,
                 label=f"median {row.median / size:.4g} {unit}")  # fmt: skip
    if not np.isnan(row.limit):
        told = f"limit {row.limit / size:.4g}: kept by {row.within}, {100 * row.shown:.2f} % shown"
        axes.axvline(row.limit / size, color=LIMIT, ls="--", lw=1.6, label=told)
    axes.set_xlabel(f"{row.name.replace('_', ' ')}, {unit}")
    axes.locator_params(axis="x", nbins=4)
    axes.legend(fontsize=7.5, **{**ABOVE, "ncols": 1})
    axes.grid(visible=True, axis="y", lw=0.4, color=SOFT, alpha=0.4)
    axes.set_axisbelow(True)
