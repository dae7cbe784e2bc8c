"""What scatters from flight to flight: the contract."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.scatter.distributions import Distribution
from ascentopt.studies.dispersions.scatter.draft import DeviationsDraft
from ascentopt.typing import Floats

Columns = tuple[tuple[str, str], ...]
"""Names and units."""


class Dispersion(ABC):
    """Something that differs from flight to flight."""

    @property
    @abstractmethod
    def name(self) -> str:
        """In the trade's words, with the part that it is of; different for what differs."""

    @property
    @abstractmethod
    def columns(self) -> Columns:
        """Of the numbers by which a table of draws tells it; units are SI, "-" for shares."""

    @abstractmethod
    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse what the vehicle or the mission has no place for. Raises `InputError`."""


@dataclass(frozen=True)
class Measure:
    """How a number's scatter is measured by partials: the sum of some.

    Attributes:
        terms: quantities that have a partial, as `Ascent.partials` calls them, and how many of its
            units there are to each unit of what scatters.
    """

    terms: tuple[tuple[str, float], ...]


class NumberDispersion(Dispersion):
    """A single number that scatters about what the description says.

    Attributes:
        by: its distribution, in the unit of `unit`.
    """

    by: Distribution

    @property
    @abstractmethod
    def unit(self) -> str:
        """SI; "-" for a share of what the description says."""

    @property
    def columns(self) -> Columns:
        """The number itself."""
        return ((self.name, self.unit),)

    def values(self, scores: Floats) -> Floats:
        """(n,) off what the description says, for scores (n,) of the standard normal."""
        return self.by.values(scores)

    @abstractmethod
    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """Put values (n,) into the deviations of as many draws."""

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By which partials it counts to first order; None where there are none."""
        return None


class ProfileDispersion(Dispersion):
    """Something that scatters at every altitude, with as many scores as that takes."""

    @abstractmethod
    def put_draws(self, seed: int, begin: int, end: int, draft: DeviationsDraft) -> Floats:
        """Put draws ``begin`` to ``end`` - 1 into the deviations; (n, columns) for a table."""


class Lateness(NumberDispersion):
    """Seconds by which something happens after it should: never before, as it waits for that.

    The half of the distribution that is above zero, the chances of the other half added to it.
    """

    unit = "s"

    def values(self, scores: Floats) -> Floats:
        """By the share of the scores below, on the upper half."""
        # Imported here: SciPy takes longer to import than everything else together.
        from scipy.special import ndtr, ndtri

        # Of what is above: its share keeps its digits where the delay is long.
        return np.maximum(self.by.values(-ndtri(0.5 * ndtr(-scores))), 0.0)
