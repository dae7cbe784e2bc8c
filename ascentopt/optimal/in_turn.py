"""Searches that show how far they have come, step by step."""

from __future__ import annotations

from collections.abc import Generator
from typing import TypeVar

from ascentopt.optimal.attempt import Attempt

R = TypeVar("R")

AttemptsInTurn = Generator[list[Attempt], None, R]
"""All attempts as they stand, whenever one of them has changed; returns what they come to."""


def result_of(steps: AttemptsInTurn[R]) -> R:
    """What a search comes to, for whom its steps are of no use."""
    while True:
        try:
            next(steps)
        except StopIteration as end:
            found: R = end.value
            return found
