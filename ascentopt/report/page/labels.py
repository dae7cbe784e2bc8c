"""Labels that keep out of each other's way, and out of the way of the curves."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from itertools import product
from math import cos, pi, sin
from typing import TYPE_CHECKING, NamedTuple

import numpy as np

from ascentopt.report.page.obstacles import Box, Obstacles, traced
from ascentopt.report.page.palette import GROUND, PAPER, SOFT
from ascentopt.typing import Floats

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.lines import Line2D

_DISTANCES = (9.0, 16.0, 26.0, 40.0, 56.0, 76.0, 100.0, 130.0, 170.0)
"""Points between a mark and its label, the nearest first."""

_ANGLES = tuple(
    k * pi / 16
    for eighths in ((30, 2, 28, 4, 14, 18, 26, 6, 24, 8, 20, 12, 16, 22, 10, 0), range(1, 32, 2))
    for k in eighths
)
"""Directions from a mark: to its right and below first, where a climbing curve leaves room."""

_LED = 14.0
"""Points from which a thin line leads from label to mark."""

_LED_OVER = 10.0
"""What a leader across a text costs: less than a text there, more than a longer way."""

_LEADER = {"arrowstyle": "-", "lw": 0.5, "color": SOFT, "shrinkA": 0.0, "shrinkB": 3.0}

_PLACES = 60
"""Along a line at which its name is tried."""

_NAME_GAPS = (0.5, 5.0, 12.0, 20.0)
"""Points between a line and the room around its name, the least first."""


_MASK = {"facecolor": PAPER, "edgecolor": "none", "pad": 0.5}
"""Under a name: it interrupts the hairlines that mark events."""

_SIDES = ((0, 1), (0, -1), (1, 0), (-1, 0), (1, -1), (-1, 1), (1, 1), (-1, -1))
"""Of a line, on which its name is tried: to the right and upward, in half its size and a gap."""


class Label(NamedTuple):
    """A text at a place in the coordinates of the axes."""

    x: float
    y: float
    text: str


class _Place(NamedTuple):
    """Where a label may go: what it costs, points from its mark, its centre (2,) and its box."""

    cost: float
    gap: float
    centre: Floats
    box: Box


def place_labels(axes: Axes, labels: Sequence[Label], *, size: float = 8.0) -> None:
    """Write each label beside its place, clear of texts, legend and lines.

    Where no place is clear the one with the least under it is taken. Labels are set in several
    orders, since who comes first takes another one's room, and the best is drawn. Call it last: it
    takes the axes where they are, with the limits that they have.
    """
    if not labels:
        return
    around = Obstacles(axes)
    spots = axes.transData.transform([(label.x, label.y) for label in labels])
    around.taken += [Box(x - 4, y - 4, x + 4, y + 4) for x, y in spots]
    halves = [around.half_size(label.text, size) for label in labels]
    tried = [_settled(around, spots, halves, order) for order in _orders(len(labels))]
    best = _placed_anew(around, spots, halves, min(tried, key=_cost))
    for label, spot, place in zip(labels, spots, best, strict=True):
        offset = (place.centre - spot) / around.pixels
        note = axes.annotate(
            label.text,
            (label.x, label.y),
            xytext=(float(offset[0]), float(offset[1])),
            textcoords="offset points",
            ha="center",
            va="center",
            fontsize=size,
            color=GROUND,
            arrowprops=_LEADER if place.gap > _LED else None,
            parse_math=False,
        )
        note.set_in_layout(False)  # the layout was settled before


def _orders(count: int) -> Iterator[list[int]]:
    """In the order of time, backwards, and with each one ahead of the others."""
    forward = list(range(count))
    yield forward
    yield forward[::-1]
    for first in forward[1:]:
        yield [first, *(k for k in forward if k != first)]


def _settled(
    around: Obstacles, spots: Floats, halves: Sequence[Floats], order: Sequence[int]
) -> list[_Place]:
    """Places of all labels, chosen in an order; each keeps clear of those before it."""
    found: dict[int, _Place] = {}
    for index in order:
        trial = _beside_others(around, spots, found)
        found[index] = _free_place(trial, spots[index], halves[index])
    return [found[index] for index in range(len(order))]


def _placed_anew(
    around: Obstacles, spots: Floats, halves: Sequence[Floats], places: list[_Place]
) -> list[_Place]:
    """Each beside all the others, where some are in the way; a third time seldom moves one."""
    found = dict(enumerate(places))
    for index in (*found, *found) if _cost(places) else ():
        others = {k: place for k, place in found.items() if k != index}
        trial = _beside_others(around, spots, others)
        found[index] = _free_place(trial, spots[index], halves[index])
    return list(found.values())


def _cost(places: list[_Place]) -> float:
    return sum(place.cost for place in places)


def _beside_others(around: Obstacles, spots: Floats, places: dict[int, _Place]) -> Obstacles:
    """What is in the way, labels that have a place and their leaders among it."""
    trial = around.copy()
    for index, place in places.items():
        trial.taken.append(place.box)
        if place.gap > _LED:
            trial.points = np.vstack([trial.points, _leader(spots[index], place.centre)])
    return trial


def _free_place(around: Obstacles, spot: Floats, half: Floats) -> _Place:
    """The nearest clear place beside a spot, or the one with least in its way."""
    tried: list[_Place] = []
    for distance, angle in product(_DISTANCES, _ANGLES):
        way = np.array([cos(angle), sin(angle)])
        centre = spot + distance * around.pixels * way + np.clip(1.6 * way, -1.0, 1.0) * half
        box = Box.about(centre, half)
        cost = around.cost(box)
        if distance > _LED:
            cost += _LED_OVER * _crossed(around, spot, centre)
        tried.append(_Place(cost, distance, centre, box))
        if cost == 0.0:
            break
    return min(tried, key=lambda place: place.cost)


def _crossed(around: Obstacles, spot: Floats, centre: Floats) -> int:
    """How many texts a leader would run through."""
    leader = _leader(spot, centre)
    return sum(box.holds(leader) > 0 for box in around.taken if not _about(box, spot))


def _about(box: Box, spot: Floats) -> bool:
    return bool(box.left < spot[0] < box.right and box.bottom < spot[1] < box.top)


def _leader(spot: Floats, centre: Floats) -> Floats:
    """(k, 2) pixels between a label and its mark."""
    return np.asarray(spot + np.linspace(0.0, 1.0, 100)[:, None] * (centre - spot))


class Name(NamedTuple):
    """What is written along a line; in the line's colour where none is given."""

    line: Line2D
    text: str
    color: str = ""


def name_lines(axes: Axes, names: Sequence[Name], *, size: float = 8.0) -> None:
    """Write names along lines: above, below or beside each, where nothing is in the way.

    It is tried from a line's right end to its left. Call it when the limits of the axes are set
    and all curves are drawn, before `place_labels`.
    """
    if not names:
        return
    around = Obstacles(axes)
    for name in names:
        place = _place_along(around, name.line, around.half_size(name.text, size))
        if place is None:
            continue
        around.taken.append(place.box)
        x, y = axes.transAxes.inverted().transform(place.centre)
        note = axes.text(x, y, name.text, ha="center", va="center", fontsize=size,
                         color=name.color or name.line.get_color(), parse_math=False,
                         transform=axes.transAxes, bbox=_MASK)  # fmt: skip
        note.set_in_layout(False)


def _place_along(around: Obstacles, line: Line2D, half: Floats) -> _Place | None:
    """The first clear place, or the one with least in its way; None for a line out of sight."""
    points = np.array([point for point in traced(line) if _within(around.frame, point)])
    tried: list[_Place] = []
    for centre in _beside(points, half, around.pixels) if len(points) else ():
        box = Box.about(centre, half)
        tried.append(_Place(around.cost(box), 0.0, centre, box))
        if tried[-1].cost == 0.0:
            break
    return min(tried, key=lambda place: place.cost, default=None)


def _beside(points: Floats, half: Floats, pixels: float) -> Iterator[Floats]:
    """Centres of a name along (k, 2) points of its line: above, below, beside, then corner on."""
    right_first = points[np.argsort(-points[:, 0], kind="stable")]
    chosen = np.unique(np.linspace(0, len(points) - 1, _PLACES).astype(int))
    for gap, side in product(_NAME_GAPS, _SIDES):
        away = np.array(side) * (half + gap * pixels)
        yield from right_first[chosen] + away


def _within(frame: Box, point: Floats) -> bool:
    slack = 1.0
    across = frame.left - slack <= point[0] <= frame.right + slack
    return bool(across and frame.bottom - slack <= point[1] <= frame.top + slack)
