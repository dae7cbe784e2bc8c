"""What scatters at every altitude: a table of deviations, and a length within which they agree.

g is a Gaussian process of variance one whose values at two altitudes are correlated by
exp(-|h1 - h2| / L): the first-order Gauss-Markov process. It is made exactly at altitudes a quarter
of L apart or less, by its recursion from the lowest up; what is between is linear.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil

import numpy as np

from ascentopt.arguments.sense import Sense
from ascentopt.errors import InputError
from ascentopt.studies.dispersions.scatter import sensible
from ascentopt.studies.dispersions.scatter.scores import all_scores
from ascentopt.typing import Floats
from ascentopt.validation import increasing, not_negative, numbers, positive, same_length
from ascentopt.world.sensible import WIND_TOP


@dataclass(frozen=True)
class Profile:
    """Standard deviations at altitudes in m, linear between them, and the length in m."""

    altitude: Sequence[float]
    sigma: Sequence[float]
    length: float

    @property
    def knots(self) -> Floats:
        """(k,) altitudes in m at which it is drawn."""
        low, high = self.altitude[0], self.altitude[-1]
        # Less a sliver, so that rounding does not decide whether there is one knot more.
        pieces = max(ceil((high - low) / (0.25 * self.length) - 1e-6), 1)
        return np.linspace(low, high, pieces + 1)

    def drawn(self, seed: int, name: str, begin: int, end: int) -> Floats:
        """(end - begin, k) of sigma g at the knots, for draws ``begin`` to ``end`` - 1."""
        knots = self.knots
        process = all_scores(seed, [f"{name}, {k}" for k in range(len(knots))], begin, end)
        for k, rho in enumerate(np.exp(-np.diff(knots) / self.length)):
            process[:, k + 1] = rho * process[:, k] + np.sqrt(1 - rho**2) * process[:, k + 1]
        return np.asarray(np.interp(knots, self.altitude, self.sigma) * process)


def checked_profile(
    owner: str, columns: tuple[Sequence[float], Sequence[float]], length: float, unit: str,
    sense: Sense,
) -> Profile:  # fmt: skip
    """A profile of altitudes and deviations in `unit`. Raises `InputError` for what is none."""
    fix = f"Give lists of altitude in m and standard deviation in {unit or 'shares'}."
    kept = {
        "altitude": numbers(owner, "altitude", columns[0], "m", fix),
        "sigma": numbers(owner, "sigma", columns[1], unit, fix),
    }
    same_length(owner, kept, fix)
    altitude, sigma = kept["altitude"], kept["sigma"]
    if len(altitude) < 2:
        raise InputError(f"{owner}: the table has fewer than 2 altitudes. {fix}")
    increasing(owner, "altitude", altitude, "m", "Sort the table by altitude.")
    for k, one in enumerate(sigma):
        not_negative(owner, f"sigma[{k}]", one, unit, fix)
    positive(owner, "sigma at its greatest", max(sigma), unit, "Leave out what does not scatter.")
    WIND_TOP.check(owner, "altitude[-1]", altitude[-1])
    sense.check(owner, "sigma at its greatest", max(sigma))
    positive(owner, "correlation_length", length, "m", "Give it in m.")
    sensible.CORRELATION_LENGTH.check(owner, "correlation_length", length)
    return Profile(altitude, sigma, length)


def mean_over_altitude(knots: Floats, values: Floats) -> Floats:
    """(n,) of values (n, k) that are linear between knots (k,), from end to end.

    Row by row: a product with a matrix is rounded otherwise for another number of draws.
    """
    weights = np.zeros(len(knots))
    steps = np.diff(knots) / (knots[-1] - knots[0])
    weights[:-1] += 0.5 * steps
    weights[1:] += 0.5 * steps
    return np.asarray(np.sum(values * weights, axis=1))
