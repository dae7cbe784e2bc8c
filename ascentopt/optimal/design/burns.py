"""What burns take and tanks hold, where either is linear in the variables of a design.

A burn at full throttle takes its flow times its length; where both vary the product of flow and
instants is a condition, in kg, and the length itself has no bound any more. One that may be
throttled, or shares its tank, ends with what is left of the stage above its empty mass.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cached_property
from math import inf

import numpy as np

from ascentopt.collocation import Bounds, Condition, Quantity
from ascentopt.flight.phases.builder import SHORTEST_FREE
from ascentopt.optimal.design.expressions import Burned, MassAtEnd
from ascentopt.optimal.design.family import Frame, Variant, held_by
from ascentopt.optimal.design.ledger import Ledger
from ascentopt.optimal.design.linear_numbers import Linear
from ascentopt.optimal.problem.linkage import EndExpression
from ascentopt.typing import Floats

LEAST_LENGTH = 2.0 * SHORTEST_FREE
"""s that a burn keeps: twice what the arcs of a vehicle must have, lest the solver's tolerance,
some microseconds, decide whether the vehicle that is found has them."""

Pair = tuple[int, int]
"""The instants that a burn lies between."""


class Burns:
    """The burns of a frame, their numbers in a ledger."""

    def __init__(self, frame: Frame, ledger: Ledger) -> None:
        self.frame, self.ledger = frame, ledger
        self.arcs = frame.sequence.arcs

    def conditions(self) -> Iterator[Condition]:
        """What each burn takes, between the least and the most it may, and what stages are left."""
        for pair, numbers in self._varied.items():
            if not self._is_part(pair):
                yield from self._burn(pair, *numbers)
        yield from self._floors()

    def bounds(self, pair: Pair, shortest: float, longest: float) -> tuple[float, float]:
        """Of a span in s, but for those that a condition holds.

        A burn keeps some length: without any there is another sequence of arcs.
        """
        if pair not in self._varied:
            return shortest, longest
        moved = any(self._lengths(pair, one)[0] != shortest for one in self.frame.family.others)
        return (min(shortest, LEAST_LENGTH) if moved else shortest), inf

    @cached_property
    def least_masses(self) -> tuple[Linear, ...]:
        """Of each arc, kg."""
        return tuple(self._least_mass(k) for k in range(len(self.arcs)))

    def _least_mass(self, k: int) -> Linear:
        def empty(one: Variant) -> Floats:
            return np.array([one.sequence.arcs[k].least_mass])

        return self.frame.family.linear(f"the empty mass of {self.arcs[k].name}", empty)

    @cached_property
    def _varied(self) -> dict[Pair, tuple[Linear, Linear, Linear]]:
        """Flow in kg/s, least and most kg of the burns whose length is no number."""
        spans = {(one.first, one.last) for one in self.frame.problem.all_spans()}
        return {
            pair: self._numbers(pair)
            for pair in sorted(spans)
            if self._moves(pair) or self._holds_the_tank(pair)
        }

    def _moves(self, pair: Pair) -> bool:
        """Whether a variable changes how long a span may be."""
        family = self.frame.family
        own = self._lengths(pair, family.own)
        return any((self._lengths(pair, one) != own).any() for one in family.others)

    def _lengths(self, pair: Pair, one: Variant) -> Floats:
        """(2,) shortest and longest, s."""
        spans = one.problem.all_spans()
        found = next(span for span in spans if (span.first, span.last) == pair)
        return np.array([found.shortest, found.longest])

    def _numbers(self, pair: Pair) -> tuple[Linear, Linear, Linear]:
        arc = self.arcs[pair[0]]
        flows = [name for name in ("mass_flow", "side_mass_flow") if getattr(arc.parameters, name)]

        def flow(one: Variant) -> Floats:
            own = one.sequence.arcs[pair[0]].parameters
            return np.array([getattr(own, flows[0]) if flows else 1.0])

        linear, what = self.frame.family.linear, f"the burn of {arc.name}"
        both = linear(what, lambda one: flow(one) * self._lengths(pair, one))
        least, most = (Linear(both.constant[k : k + 1], both.slopes[k : k + 1]) for k in (0, 1))
        return linear(what, flow), least, most

    def _holds_the_tank(self, pair: Pair) -> bool:
        """Whether this is the burn that is cut off, and its length says what it takes."""
        last, cut = pair[1] - 1, self.frame.cut_off
        if self.arcs[cut].kind.core_curve is not None or self._ends_by_mass(last):
            return False
        return last == cut and not self._is_part(pair)

    def _is_part(self, pair: Pair) -> bool:
        """Whether a longer span has this one in it."""
        first, last = pair
        return any(
            one.first <= first and last <= one.last and one.last - one.first > last - first
            for one in self.frame.problem.spans
        )

    def _ends_by_mass(self, k: int) -> bool:
        """Whether the mass at the end of a stage's burns says what its tank has left."""
        pairs = zip(self.arcs, self.frame.by_mass, strict=True)
        return any(by_mass for arc, by_mass in pairs if arc.stage == self.arcs[k].stage)

    def _burn(self, pair: Pair, flow: Linear, least: Linear, most: Linear) -> Iterator[Condition]:
        name = self.frame.vehicle.stages[self.arcs[pair[0]].stage].name
        place = self.ledger.number("flow", float(flow.constant[0]))
        burned = Burned(*pair, place, self.ledger.slopes("flow", flow.slopes))
        if _alike(least, most):
            yield self._held(f"propellant that {name} burns", pair[0], burned, most, (0.0, 0.0))
            return
        if not self._ends_by_mass(pair[1] - 1) and np.isfinite(most.constant[0]):
            kept = self.frame.kept if self._holds_the_tank(pair) else 0.0
            yield self._held(held_by(name), pair[0], burned, most, (-inf, -kept))
        shortest = float(self._lengths(pair, self.frame.family.own)[0])
        if not _alike(least, Linear(shortest * flow.constant, shortest * flow.slopes)):
            told = f"propellant that {name} has to burn"
            yield self._held(told, pair[0], burned, least, (0.0, inf))

    def _held(
        self, told: str, arc: int, what: EndExpression, bound: Linear,
        beyond: tuple[float, float],
    ) -> Condition:  # fmt: skip
        """A quantity in kg held between two distances from a bound."""
        by = float(bound.constant[0])
        return Condition(
            quantities=(Quantity(told, "kg", self.frame.mass_scales[arc]),),
            expression=self.ledger.less(told, what, bound),
            bounds=Bounds(lower=(beyond[0] + by,), upper=(beyond[1] + by,)),
        )

    def _floors(self) -> Iterator[Condition]:
        """What is left at the end of a stage's burns, where their length does not say it."""
        frame = self.frame
        last = {arc.stage: k for k, arc in enumerate(self.arcs) if frame.by_mass[k]}
        for stage, k in last.items():
            held = k == frame.cut_off and not frame.sequence.ballasted
            if self.least_masses[k].varies:
                told, kept = held_by(frame.vehicle.stages[stage].name), frame.kept if held else 0.0
                yield self._held(told, k, MassAtEnd(k), self.least_masses[k], (kept, inf))


def _alike(one: Linear, other: Linear) -> bool:
    """Whether two numbers are the same whatever the variables are."""
    pairs = (one.constant, other.constant), (one.slopes, other.slopes)
    return all(bool(np.isclose(a, b, rtol=1e-9, atol=0.0).all()) for a, b in pairs)
