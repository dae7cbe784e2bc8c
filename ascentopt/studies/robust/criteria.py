"""What of many flights counts: their mean, or a bad one of them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.typing import Floats
from ascentopt.validation import require


class Criterion(ABC):
    """One number of many; what is greater is worse."""

    @abstractmethod
    def of(self, values: Floats) -> float:
        """Of (n,) values."""


@checked
@dataclass(frozen=True)
class Mean(Criterion):
    """The mean of the flights."""

    def of(self, values: Floats) -> float:
        """Their sum over their number."""
        return float(np.mean(values))

    def __str__(self) -> str:
        return "mean"


@checked
@dataclass(frozen=True)
class Quantile(Criterion):
    """What a share of the flights does not exceed, among these flights. Raises `InputError`.

    A share that only a few of the flights exceed is the luck of these few: tune on draws of which
    ten or more do.
    """

    share: float = 0.95

    def __post_init__(self) -> None:
        require(
            "Quantile", "share", self.share, "", "above 0 and below 1",
            "Give a share of the flights, for instance 0.95.", holds=0.0 < self.share < 1.0,
        )  # fmt: skip

    def of(self, values: Floats) -> float:
        """Linear between the two that are nearest in order."""
        return float(np.quantile(values, self.share))

    def __str__(self) -> str:
        return f"{100.0 * self.share:g} % quantile"
