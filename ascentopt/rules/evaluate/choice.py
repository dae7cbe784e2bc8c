"""By which of several plans a rule with its numbers is flown into the orbit."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Protocol, TypeVar

from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.insertion.refusals import BeyondOrbit


class Way(Protocol):
    """A rule's flight by one plan."""

    @property
    def insertion(self) -> Insertion:
        """The plan, and how its end is met."""

    @property
    def starts_in(self) -> int:
        """Index of the stage that burns as the apoapsis reaches the orbit."""

    def flew(self, closed: ClosedRuleFlight) -> bool:
        """Whether a flight was one by this plan and to this place."""

    def fly_beyond_edges(
        self, values: tuple[float, ...], near: ClosedRuleFlight | None = None
    ) -> ClosedRuleFlight:
        """Fly it, for a little even where it cannot be, or raise a `CompiledFlightError`."""


W = TypeVar("W", bound=Way)


class Choice:
    """Tries plans until one reaches the orbit, and remembers what the others lacked.

    Args:
        values: of the rule's numbers.
        near: flights with similar ones; a plan begins with one by itself, or else with the first.

    Attributes:
        flown: flights that reached the orbit, or would with more propellant.
        beyond_edges: those that would if they could be flown.
    """

    def __init__(self, values: tuple[float, ...], near: Sequence[ClosedRuleFlight]) -> None:
        self._values, self._near = values, near
        self._tried: list[Way] = []
        self.flown: list[ClosedRuleFlight] = []
        self.beyond_edges: list[ClosedRuleFlight] = []
        self._failures: list[CompiledFlightError] = []
        self._late: list[Way] = []

    @property
    def made(self) -> bool:
        """Whether one reached the orbit without owing propellant."""
        return any(one.debt == 0.0 for one in self.flown)

    def beyond_orbit(self, ways: Sequence[W]) -> list[W]:
        """Ways in which a stage could not be cut off in time."""
        return [way for way in ways if any(way is one for one in self._late)]

    def try_by(self, way: Way) -> None:
        """Fly it, unless the choice is made or it was tried."""
        if self.made or any(way is one for one in self._tried):
            return
        self._tried.append(way)
        own = (one for one in self._near if way.flew(one))
        try:
            near = next(own, self._near[0] if self._near else None)
            closed = way.fly_beyond_edges(self._values, near)
        except CompiledFlightError as failure:
            self._fails(way, failure)
            return
        if closed.refusal is None:
            self.flown.append(closed)
        else:
            self.beyond_edges.append(closed)
            self._fails(way, closed.refusal)

    def _fails(self, way: Way, failure: CompiledFlightError) -> None:
        self._failures.append(failure)
        if isinstance(failure, BeyondOrbit):
            self._late.append(way)

    def open_to(self, ways: Sequence[W], stage: int) -> Iterator[W]:
        """Ways that start in the stage in which the apoapsis reaches the orbit.

        Each is asked once those before it were tried, whether it mends what they failed by.
        """
        lower = stage < max(way.starts_in for way in ways)
        told = [BeyondOrbit("a lower stage throws the apoapsis beyond the orbit")] * lower
        for way in ways:
            if way.starts_in == stage and way.insertion.mends_any([*self._failures, *told]):
                yield way

    def best(self) -> ClosedRuleFlight:
        """The flight that owes least.

        Raises:
            CompiledFlightError: of the last plan that was tried, when none flew.
        """
        if self.flown:
            return min(self.flown, key=lambda one: one.debt)
        raise self._failures[-1]
