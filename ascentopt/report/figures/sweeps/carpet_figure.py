"""A sweep as a carpet plot: both families of lines over one another."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.report.figures.sweeps.sweep_sides import SweepSides, sides_of
from ascentopt.report.page.foot import write_foot, write_head
from ascentopt.report.page.labels import Label, place_labels
from ascentopt.report.page.palette import OPTIMUM, OTHERS
from ascentopt.studies.sweep.swept import Sweep
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.figure import Figure

_SHIFT = 0.6
"""Widths of the first family by which the second one moves it, from its first value to its last."""


@checked
def carpet_figure(
    sweep: Sweep,
    quantity: str = "propellant_margin",
    *,
    first: str | None = None,
    second: str | None = None,
    held: Mapping[str, object] | None = None,
) -> Figure:
    """Draw a quantity over two numbers of a sweep as a carpet plot.

    The height is the quantity. From left to right the first number grows, and with each value of
    the second one all is moved further to the right: lines of both stand over one another, and
    between them a value of both is read off by eye. Where nothing flies the carpet has a hole.

    Args:
        sweep: over a grid.
        quantity: a column of `Sweep.to_table`.
        first, second: names of what is varied; by default the first two that vary.
        held: of every other name that varies the value that is drawn.

    Raises:
        InputError: as `sweep_lines_figure`, and for less than two values of either.
    """
    from matplotlib.figure import Figure

    sides = sides_of("carpet_figure", sweep, quantity, first, second, held or {})
    if min(sides.numbers.shape) < 2:
        raise InputError(
            f"carpet_figure: sweep has {sides.numbers.shape[0]} by {sides.numbers.shape[1]} "
            "values; there must be two of each at least. Take sweep_lines_figure for one row."
        )
    figure = Figure(figsize=(8.2, 6.2), layout="constrained")
    axes = figure.add_subplot()
    places = _places(sides)
    for index in range(sides.numbers.shape[1]):
        axes.plot(places[:, index], sides.numbers[:, index], color=OPTIMUM.color, lw=1.4)
    for index in range(sides.numbers.shape[0]):
        axes.plot(places[index], sides.numbers[index], color=OTHERS[0].color, lw=1.4,
                  ls=OTHERS[0].dashes)  # fmt: skip
    axes.set_xticks([])
    axes.set_ylabel(sides.label)
    axes.margins(x=0.16, y=0.16)
    axes.grid(axis="y", lw=0.4)
    write_head(figure, ", ".join(filter(None, (sweep.subject, sides.held))))
    write_foot(figure, _notes(sides))
    place_labels(axes, [*_labels(sides, places)])
    return figure


def _places(sides: SweepSides) -> Floats:
    """(first, second) where each point stands, from left to right; shares of the first's range."""
    first, second = (_shares(one.values) for one in (sides.across, sides.upward))
    return np.asarray(first[:, None] + _SHIFT * second[None, :])


def _shares(values: Floats) -> Floats:
    return np.asarray((values - values.min()) / np.ptp(values))


def _labels(sides: SweepSides, places: Floats) -> list[Label]:
    """Values of the second number at the right ends of its lines, of the first at the left ones."""
    found = []
    for index, text in enumerate(sides.upward.texts):
        end = np.flatnonzero(sides.flies[:, index])
        if len(end):
            found.append(_label(sides, places, (int(end[-1]), index), text))
    for index, text in enumerate(sides.across.texts):
        begin = np.flatnonzero(sides.flies[index])
        if len(begin):
            found.append(_label(sides, places, (index, int(begin[0])), text))
    return found


def _label(sides: SweepSides, places: Floats, at: tuple[int, int], text: str) -> Label:
    return Label(float(places[at]), float(sides.numbers[at]), text)


def _notes(sides: SweepSides) -> list[str]:
    lines = (
        f"Full lines: {sides.upward.name} as written at their right ends. Broken lines: "
        f"{sides.across.name} as written at their left ends."
    )
    return [lines, *([] if sides.flies.all() else ["Where a line is broken off nothing flies."])]
