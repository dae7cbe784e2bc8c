"""How one number scatters about what the description says of it.

A draw begins as a score: a number of the standard normal distribution. Each distribution turns a
score into a value by its quantile function, so that greater scores are greater values, whatever the
distribution; correlations are those of the scores (`scores.py`).
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from math import erf, exp, pi, sqrt

import numpy as np

from ascentopt.arguments import checked
from ascentopt.typing import Floats
from ascentopt.validation import positive, within

FARTHEST = 8.3
"""Standard deviations that no score is away from the mean: it is made of 52 bits, and the normal
distribution holds less than 2^-53 beyond them."""


class Distribution(ABC):
    """A distribution about zero, which is what the description says."""

    @property
    @abstractmethod
    def spread(self) -> float:
        """Standard deviation, in the unit of what scatters."""

    @property
    @abstractmethod
    def farthest(self) -> float:
        """How far a draw may be off at most, either way."""

    @abstractmethod
    def values(self, scores: Floats) -> Floats:
        """Off what the description says, for scores (...) of the standard normal distribution."""


@checked
@dataclass(frozen=True)
class Normal(Distribution):
    """A normal distribution by its standard deviation. Raises `InputError`."""

    sigma: float

    def __post_init__(self) -> None:
        positive("Normal", "sigma", self.sigma, "", "Leave out what does not scatter.")

    @property
    def spread(self) -> float:
        """What it is given by."""
        return self.sigma

    @property
    def farthest(self) -> float:
        """What no draw of floats is beyond."""
        return FARTHEST * self.sigma

    def values(self, scores: Floats) -> Floats:
        """Scores times the standard deviation."""
        return self.sigma * scores

    def __str__(self) -> str:
        return f"normal, sigma {self.sigma:g}"


@checked
@dataclass(frozen=True)
class TruncatedNormal(Distribution):
    """A normal distribution with its ends cut off, the rest of it scaled up to make a whole.

    What is measured and sorted out before the flight scatters so. Raises `InputError`.

    Args:
        sigma: standard deviation before it is cut.
        beyond: how many of them away from the mean it is cut, either way; 0.5 or more.
    """

    sigma: float
    beyond: float = 3.0

    def __post_init__(self) -> None:
        positive("TruncatedNormal", "sigma", self.sigma, "", "Leave out what does not scatter.")
        fix = "Give standard deviations; what is cut closer is as good as Uniform."
        within("TruncatedNormal", "beyond", self.beyond, "", (0.5, FARTHEST), fix)

    @property
    def spread(self) -> float:
        """Of what is left: sqrt(1 - 2 c phi(c) / (2 Phi(c) - 1)) of that before the cut at c."""
        c = self.beyond
        density = exp(-0.5 * c * c) / sqrt(2.0 * pi)
        return self.sigma * sqrt(1.0 - 2.0 * c * density / erf(c / sqrt(2.0)))

    @property
    def farthest(self) -> float:
        """Where it is cut."""
        return self.beyond * self.sigma

    def values(self, scores: Floats) -> Floats:
        """By the share of the scores below, on what is left of the normal distribution."""
        # Imported here: SciPy takes longer to import than everything else together.
        from scipy.special import ndtr, ndtri

        # Of the lower half, as its shares lose no digits; the upper half mirrors it.
        low = ndtr(-self.beyond)
        inside = ndtri(low + (1.0 - 2.0 * low) * ndtr(-np.abs(scores)))
        return np.asarray(-self.sigma * np.sign(scores) * np.minimum(inside, 0.0))

    def __str__(self) -> str:
        return f"normal, sigma {self.sigma:g}, cut at {self.beyond:g} sigma"


@checked
@dataclass(frozen=True)
class Uniform(Distribution):
    """Every value as likely, up to half of the whole width either way. Raises `InputError`."""

    half_width: float

    def __post_init__(self) -> None:
        positive("Uniform", "half_width", self.half_width, "", "Leave out what does not scatter.")

    @property
    def spread(self) -> float:
        """The half width over the root of three."""
        return self.half_width / sqrt(3.0)

    @property
    def farthest(self) -> float:
        """The half width."""
        return self.half_width

    def values(self, scores: Floats) -> Floats:
        """By the share of the scores below."""
        from scipy.special import ndtr

        return np.asarray(self.half_width * (2.0 * ndtr(scores) - 1.0))

    def __str__(self) -> str:
        return f"uniform, half width {self.half_width:g}"
