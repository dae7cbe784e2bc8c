"""What a rule of thumb for the dense air is: phases of steering that follow from a few numbers."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.rules.laws.open_number import Open
from ascentopt.steering.programme import Phase


@dataclass(frozen=True, eq=False, kw_only=True)
class Pad:
    """Where a rule begins: the mission, the arcs that will be flown, and the heading in rad."""

    mission: Mission
    sequence: Sequence
    heading: float


class Rule(ABC):
    """Steering through the dense air by one or two numbers.

    The numbers are ordered so that the last one tips the vehicle over: the more of it, the flatter
    the flight. To add a rule: a class here in the room, and a line in `rules.catalogue`.
    """

    @property
    @abstractmethod
    def name(self) -> str:
        """As the trade calls it."""

    @property
    @abstractmethod
    def open(self) -> tuple[Open, ...]:
        """The numbers, the one that tips over last."""

    @abstractmethod
    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """What is flown by habit."""

    def nominal(self, pad: Pad) -> tuple[float, ...]:
        """Where tuning begins: the habit, if nothing else is known."""
        return self.habitual(pad)

    def as_flown(self, values: tuple[float, ...], rise_speed: float) -> tuple[float, ...]:
        """The numbers that hold where the vertical rise ends at this speed in the air, m/s."""
        return values

    @abstractmethod
    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """The phases for these numbers.

        Raises:
            CompiledFlightError: when no flight has these numbers.
        """

    def along(self, pad: Pad, first: tuple[float, ...], last: tuple[float, ...]) -> Rule:
        """The same rule, quicker for many flights with these numbers before the last one.

        `last` are the increasing values that the last number will take.
        """
        return self

    def learning(self) -> Rule:
        """The same rule, quicker for many flights with numbers of any kind; for one thread."""
        return self
