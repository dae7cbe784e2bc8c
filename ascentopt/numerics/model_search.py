"""Least of a cost of a few numbers where it is dear to ask for: models of what is known.

The cost is a smooth number plus a price on the greatest of some others that exceed one. Each of
them has a quadratic model of its own, so that the kink between them is where it is. The models
hold within a box that shrinks where they lead nowhere: a trust region. (A. R. Conn, K. Scheinberg
and L. N. Vicente, Introduction to Derivative-Free Optimization, 2009, ch. 10, in outline.)
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import combinations_with_replacement, product
from math import ceil, inf, log

import numpy as np

from ascentopt.typing import Floats

_GRID = 1500  # points at which the models are asked, in each of `_ZOOMS` or more
_ZOOMS = 4
_FINEST = 5e-4  # of the box: a grid of more numbers is coarser, and zoomed as fine in more steps
_BENT = 0.5  # how readily a model that the points leave open is bent rather than tilted
_NEAR = 3.0  # boxes within which places are looked at
_CLOSE = 0.1  # boxes within which places count alike
_BESIDE = 1.5  # boxes within which they are worth most
_FINE = (0.015, 0.06)
"""Half the width of the box in which the last model must hold, for one number and for more: one is
cheap to be sure of, and a kink, as where the fairing goes in another arc, easily overlooked."""
_POOR, _GOOD = 0.25, 0.7  # part of the foretold gain that a step brings


@dataclass(frozen=True, kw_only=True)
class SearchTask:
    """What is sought.

    Args:
        measures: (1 + k,) of a place: the smooth cost, then what must not exceed one; not finite
            where there is nothing.
        price: what exceeding one by one costs.
        sharp: gain that is not worth another evaluation.
        narrow: half a box's width below which there is nothing more to gain.
        most: evaluations, and as many again as long as they gained what is worth so many.
        low, high: (count,) between which places lie.
    """

    measures: Callable[[Floats], Floats]
    price: float
    sharp: float
    narrow: float
    most: int
    low: Floats | float = -inf
    high: Floats | float = inf

    def within(self, places: Floats) -> Floats:
        """(..., count) places moved to the bounds where they lie beyond."""
        return np.clip(places, self.low, self.high)

    def cost(self, measures: Floats) -> Floats:
        """(...,) of measures (..., 1 + k)."""
        worst = np.max(measures[..., 1:], axis=-1, initial=1.0)
        return np.asarray(measures[..., 0] + self.price * (worst - 1.0))


@dataclass(eq=False)
class Samples:
    """Places that were asked for, and what was found there.

    Attributes:
        places, measures: where there is something.
        infeasible_places: where there is nothing.
        asked: how often `ask` was used.
    """

    places: list[Floats] = field(default_factory=list)
    measures: list[Floats] = field(default_factory=list)
    infeasible_places: list[Floats] = field(default_factory=list)
    asked: int = 0

    def add(self, place: Floats, measures: Floats) -> None:
        """Remember a place."""
        if np.all(np.isfinite(measures)):
            self.places.append(place)
            self.measures.append(measures)
        else:
            self.infeasible_places.append(place)

    def ask(self, task: SearchTask, place: Floats) -> Floats:
        """Measures there."""
        measures = task.measures(place)
        self.asked += 1
        self.add(place, measures)
        return measures

    def best(self, task: SearchTask) -> tuple[Floats, Floats]:
        """Place and measures of least cost."""
        k = int(np.argmin(task.cost(np.array(self.measures))))
        return self.places[k], self.measures[k]

    def suffice_for_model(self, centre: Floats, half: Floats) -> bool:
        """Whether all terms of a model can be told from places in the box or close to it."""
        away = np.abs((np.array([*self.places, *self.infeasible_places]) - centre) / half).max(
            axis=1
        )
        return int(np.sum(away < _BESIDE)) - 1 >= len(_pairs(len(half))) + len(half)

    def farthest_place(self, task: SearchTask, centre: Floats, half: Floats) -> Floats:
        """The corner, or middle of a side, of the box that is farthest from all known places."""
        sides = np.array(list(product((-1.0, 0.0, 1.0), repeat=len(half))))
        sides = (task.within(centre + half * sides) - centre) / half
        samples = (np.array([*self.places, *self.infeasible_places]) - centre) / half
        lonely = np.linalg.norm(sides[:, None] - samples, axis=2).min(axis=1)
        return np.asarray(centre + half * sides[int(np.argmax(lonely))])


def search_by_models(task: SearchTask, samples: Samples, box: Sequence[float]) -> None:
    """Go down from the best of what is known, and add to it; `box` is half the first box's width.

    It ends where models of enough places nearby foretell no gain.
    """
    half = np.array(box, dtype=float)
    fine = _FINE[len(half) > 1]
    pay = _Pay(task=task, samples=samples, since=samples.asked, from_cost=_least(task, samples))
    _spread(task, samples, half)
    while pay.off() and half.max() > task.narrow:
        centre, found = samples.best(task)
        here = float(task.cost(found))
        ahead, foretold = _lowest(task, _models(samples, centre, found, half), samples, half)
        if here - foretold > task.sharp:
            gain = here - float(task.cost(samples.ask(task, centre + ahead)))
            if gain == -inf:
                continue  # what is known of the edge keeps from it the next time
            if gain < _POOR * (here - foretold):
                half *= 0.5 if samples.suffice_for_model(centre, half) else 0.8
            elif gain > _GOOD * (here - foretold) and np.any(np.abs(ahead) > 0.9 * half):
                half *= 2.0
        elif half.max() > fine:
            half = np.minimum(half, fine)
        elif samples.suffice_for_model(centre, half):
            return
        else:
            samples.ask(task, samples.farthest_place(task, centre, half))


@dataclass(kw_only=True)
class _Pay:
    """Whether further evaluations pay: along a bent valley a search gains little by little."""

    task: SearchTask
    samples: Samples
    since: int
    from_cost: float

    def off(self) -> bool:
        """True within the evaluations allowed, or where the last ones have earned as many more."""
        if self.samples.asked - self.since < self.task.most:
            return True
        least = _least(self.task, self.samples)
        earned = self.from_cost - least > self.task.sharp * self.task.most
        self.since, self.from_cost = self.samples.asked, least
        return earned


def _least(task: SearchTask, samples: Samples) -> float:
    return float(task.cost(samples.best(task)[1]))


def _spread(task: SearchTask, samples: Samples, half: Floats) -> None:
    """Ask beside the best along each axis, on the other side if there is nothing on the one."""
    centre, _ = samples.best(task)
    for step in np.diag(half):
        sides = [one for one in (centre + step, centre - step) if np.all(one == task.within(one))]
        for side in sides:
            if np.all(np.isfinite(samples.ask(task, side))):
                break


def _models(
    samples: Samples, centre: Floats, found: Floats, half: Floats
) -> Callable[[Floats], Floats]:
    """(n, 1 + k) measures foretold at (n, count) places, in boxes from the centre."""
    away = (np.array(samples.places) - centre) / half
    distance = np.abs(away).max(axis=1)
    chosen = (distance > 1e-9) & (distance < _NEAR)
    weights = 1.0 / (_CLOSE + distance[chosen]) ** 3
    change = np.array(samples.measures)[chosen] - found
    terms = weights[:, None] * _terms(away[chosen])
    slopes = np.linalg.lstsq(terms, weights[:, None] * change, rcond=1e-9)[0]
    return lambda places: found + _terms(places) @ slopes


def _terms(x: Floats) -> Floats:
    """(n, terms) of (n, count) places: linear and quadratic."""
    return np.column_stack([x, *(_BENT * x[:, i] * x[:, j] for i, j in _pairs(x.shape[1]))])


def terms_of_model(count: int) -> int:
    """Of a model of so many numbers: what it takes places to tell."""
    return count + len(_pairs(count))


def _pairs(count: int) -> list[tuple[int, int]]:
    return list(combinations_with_replacement(range(count), 2))


def _lowest(
    task: SearchTask, models: Callable[[Floats], Floats], samples: Samples, half: Floats
) -> tuple[Floats, float]:
    """The way from the centre to the lowest place in the box, and the cost foretold there.

    A place that is nearer to one where there was nothing than to any other is none: so the best of
    what lies along an edge is found.
    """
    count, (centre, _) = len(half), samples.best(task)
    low, high = ((task.within(centre + side * half) - centre) / half for side in (-1.0, 1.0))
    line = np.linspace(-1.0, 1.0, 2 * (int(_GRID ** (1.0 / count)) // 2) + 1)
    grid = np.array(list(product(line, repeat=count)))
    apart = float(line[1] - line[0])
    narrower = min(4.0 * apart, 0.5)
    zooms = max(_ZOOMS, 1 + ceil(log(_FINEST / apart) / log(narrower)))
    some, none = (_around(one, centre, half) for one in (samples.places, samples.infeasible_places))
    best, reach, least = np.zeros(count), 1.0, inf
    for _ in range(zooms):
        places = np.clip(best + reach * grid, low, high)
        costs = task.cost(models(places))
        if len(none):
            costs[_away(places, none) < _away(places, some)] = inf
        if costs.min() < least:
            best, least = places[int(np.argmin(costs))], float(costs.min())
        reach *= narrower
    return best * half, least


def _around(places: list[Floats], centre: Floats, half: Floats) -> Floats:
    """(n, count) places, in boxes from the centre, that are not far away."""
    away = (np.array(places).reshape(-1, len(half)) - centre) / half
    return np.asarray(away[np.abs(away).max(axis=1, initial=0.0) < _NEAR])


def _away(places: Floats, others: Floats) -> Floats:
    """(n,) squared distance of each place to the nearest of some others, less its own square."""
    return np.asarray((np.sum(others**2, axis=1) - 2.0 * places @ others.T).min(axis=1))
