"""Colours and lines of our figures: told apart in grey print and by people who see red as green.

Curves of one panel differ in their dashes as well as in colour, filled parts in lightness and
hatching as well as in hue.
"""

from __future__ import annotations

from typing import Any, NamedTuple

Dashes = str | tuple[int, tuple[float, ...]]

FLIGHT = "#1f3b73"
SECOND = "#c4560c"
THIRD = "#2a8c82"
LIMIT = "#9c1c56"
GROUND = "#3d3d3d"
SOFT = "#6b6f76"
FAINT = "#c9cdd2"
AIR = "#e6eef2"
COAST = "#efebe2"
PAPER = "#ffffff"

HATCHED = "#8a8f96"
"""Of the strokes over an area where there is nothing to show."""


class Stroke(NamedTuple):
    """How a curve is drawn."""

    color: str
    dashes: Dashes
    width: float


class Fill(NamedTuple):
    """How a part of a bar is filled; `ink` is the colour of what is written on it."""

    color: str
    hatch: str
    ink: str


OPTIMUM = Stroke(FLIGHT, "-", 2.0)

OTHERS = (
    Stroke(SECOND, (0, (5.0, 2.0)), 1.4),
    Stroke(THIRD, (0, (1.2, 1.4)), 1.7),
    Stroke("#7a4fa3", (0, (7.0, 2.0, 1.2, 2.0)), 1.4),
    Stroke("#8a6d00", (0, (9.0, 2.5)), 1.2),
    Stroke("#2f7fc1", (0, (4.0, 1.5, 1.0, 1.5, 1.0, 1.5)), 1.4),
    Stroke("#4a4a4a", (0, (2.5, 2.5)), 1.2),
)
"""Of what is drawn beside the optimum, in this order."""

LOSS_FILLS = (
    Fill("#1f3b73", "", "white"),
    Fill("#d97b2f", "", "black"),
    Fill("#6fa3c8", "////", "black"),
    Fill("#dfe4ea", "....", "black"),
)
"""Gravity, drag, steering, back-pressure: darker to lighter but for drag, which is warm."""

COSTS = ("#faf7ee", "#e1eae6", "#bbd5d8", "#92b9cd", "#6b9ac0", "#4a78a8")
"""From cheap to dear, ever darker."""

ABOVE: dict[str, Any] = {
    "loc": "lower right",
    "bbox_to_anchor": (1.0, 1.0),
    "borderaxespad": 0.2,
    "ncols": 3,
    "frameon": False,
    "handlelength": 3.0,
}
"""Of a legend: in a row over its panel, where it covers nothing."""
