"""Textbook optimal control problems, stated for the collocation engine."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.collocation import (
    ArcGuess,
    Bounds,
    Condition,
    Ends,
    Guess,
    Problem,
    Quantity,
)
from ascentopt.typing import Expr

Rows = Sequence[Sequence[float]]


def quantities(*names: str) -> tuple[Quantity, ...]:
    return tuple(Quantity(name) for name in names)


def straight_line(
    problem: Problem, instants: Sequence[float], states: Rows, controls: Rows
) -> Guess:
    """States linear between their values at the instants; one constant control for each arc."""
    pairs = zip(states[:-1], states[1:], controls, strict=True)
    return Guess(
        np.array(instants, dtype=float),
        tuple(
            ArcGuess(
                np.array([0.0, 1.0]),
                np.array([a, b], dtype=float),
                np.array([u, u], dtype=float).reshape(2, -1),
            )
            for a, b, u in pairs
        ),
        np.zeros(len(problem.free)),
    )


@dataclass(frozen=True)
class StartOf:
    """State at the start of an arc."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        return ends.start[self.arc]


@dataclass(frozen=True)
class EndOf:
    """Chosen entries of the state at the end of an arc."""

    arc: int
    entries: tuple[int, ...]

    def __call__(self, ends: Ends) -> list[Expr]:
        return [ends.end[self.arc][k] for k in self.entries]


@dataclass(frozen=True)
class Joint:
    """Jump of the state from the end of an arc to the start of the next."""

    arc: int

    def __call__(self, ends: Ends) -> Expr:
        return ends.start[self.arc + 1] - ends.end[self.arc]


@dataclass(frozen=True)
class FinalEntry:
    """One entry of the state at the end of the last arc."""

    entry: int

    def __call__(self, ends: Ends) -> Expr:
        return ends.end[-1][self.entry]


@dataclass(frozen=True)
class LastInstant:
    def __call__(self, ends: Ends) -> Expr:
        return ends.time[-1]


def starts_at(states: tuple[Quantity, ...], values: Sequence[float]) -> Condition:
    return Condition(quantities=states, expression=StartOf(0), bounds=Bounds.fixed(tuple(values)))


def ends_at(states: tuple[Quantity, ...], arc: int, values: dict[int, float]) -> Condition:
    entries = tuple(values)
    return Condition(
        quantities=tuple(states[k] for k in entries),
        expression=EndOf(arc, entries),
        bounds=Bounds.fixed(tuple(values.values())),
    )


def joined(states: tuple[Quantity, ...], arc: int) -> Condition:
    zero = (0.0,) * len(states)
    return Condition(quantities=states, expression=Joint(arc), bounds=Bounds.fixed(zero))
