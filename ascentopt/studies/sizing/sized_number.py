"""A number that sizing chose, and what one unit more of it is worth."""

from __future__ import annotations

from dataclasses import dataclass
from math import nan

from ascentopt.arguments import checked_kinds
from ascentopt.persistence import Result
from ascentopt.studies.designs.free import AT_BOUND
from ascentopt.tables import one_line


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class SizedNumber(Result):
    """A number that was free, at the optimum.

    All slopes are to first order, the flight optimal again.

    Args:
        quantity: what it is.
        unit: of it and its bounds.
        least, most: its bounds.
        given: as described.
        value: as sized.
        payload: kg more of payload that one unit more of it lifts, whatever it costs.
        cost: what one unit more of it costs: kg at lift-off with all that its law adds, or in the
            unit of a `LinearCost`; zero where nothing is counted.
        price: by how much the objective changes for one unit more of it, the rest sized again: zero
            where it is free, and what its bound costs where it is held; nan where nothing else is
            free to pay for it.
    """

    quantity: str
    unit: str
    least: float
    most: float
    given: float
    value: float
    payload: float
    cost: float
    price: float

    @property
    def at_least(self) -> bool:
        """Whether the lower bound holds it."""
        return self.value - self.least <= AT_BOUND * (self.most - self.least)

    @property
    def at_most(self) -> bool:
        """Whether the upper bound holds it."""
        return self.most - self.value <= AT_BOUND * (self.most - self.least)

    @property
    def is_free(self) -> bool:
        """Whether neither bound holds it."""
        return not (self.at_least or self.at_most)

    @property
    def exchange(self) -> float:
        """Kg of payload for one unit of cost spent on it; nan where it costs nothing.

        Of lift-off mass: what a kilogram buys. It is the same for all that are free.
        """
        return self.payload / self.cost if self.cost else nan

    @property
    def held_by(self) -> str:
        """Which bound holds it; empty where none does."""
        return "least" if self.at_least else "most" if self.at_most else ""

    def __repr__(self) -> str:
        held = f"at its {self.held_by}" if self.held_by else "free"
        return one_line(self, repr(self.quantity), f"{self.value:.6g} {self.unit}", held)
