"""What scatters from flight to flight: the contract."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.distributions import Distribution


class Dispersion(ABC):
    """Something that differs from flight to flight."""

    @property
    @abstractmethod
    def name(self) -> str:
        """In the trade's words, with the part that it is of; different for what differs."""

    @abstractmethod
    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse what the vehicle or the mission has no place for. Raises `InputError`."""


@dataclass(frozen=True)
class Measure:
    """How a number's dispersion is measured by the partial of another number, or its own.

    Attributes:
        partial: the quantity that has the partial, as `Ascent.partials` calls it.
        per_unit: of the partial's units, for each unit of the dispersion.
    """

    partial: str
    per_unit: float


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

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By which partial it counts to first order; None where there is none."""
        return None
