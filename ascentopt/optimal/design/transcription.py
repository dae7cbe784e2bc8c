"""A flight as a problem in which numbers of its vehicle are free."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from functools import cached_property
from math import inf

import numpy as np

from ascentopt.collocation import (
    Arc,
    Bounds,
    Condition,
    Envelope,
    Objective,
    Problem,
    Quantity,
    Solution,
    Span,
)
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import SHORTEST_FREE, sequence_of
from ascentopt.flight.phases.hold_down import held_for, seconds_held
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.phases.vertical_rise import pad_gravity
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.bounds.lift_off import pad_thrust
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.expressions import (
    Burned,
    Less,
    MassAtEnd,
    More,
    Slopes,
    WeightAtLiftOff,
)
from ascentopt.optimal.design.linear_numbers import Family, Linear
from ascentopt.optimal.problem.linkage import WEIGHTS
from ascentopt.optimal.problem.phase_model import Varied
from ascentopt.optimal.problem.transcription import EXCESS_PRICE, LEAST_MASS_SHARE, Transcription
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats

THRUST_AT_LIFT_OFF = "thrust less weight at lift-off"
"""Of the vehicle on its pad, N."""

LIFTS = 1e-6
"""Share of its weight by which the thrust exceeds it, lest the solver's tolerance decide whether
the vehicle is one that lifts off."""


def held_by(stage: str) -> str:
    """The condition on what a stage may burn, kg."""
    return f"propellant that {stage} holds"


@dataclass(frozen=True)
class Variant:
    """A vehicle with other numbers, its arcs, and the problem that it poses as it is."""

    vehicle: Vehicle
    sequence: Sequence
    problem: Problem


@dataclass(frozen=True, kw_only=True)
class DesignTranscription(Transcription):
    """A `Transcription` whose vehicle has unknown numbers.

    Args:
        plan: of the flight.
        design: what is unknown.
        kept: kg of propellant, or ballast where all burns to the end, that are to be left beside
            the mission's reserve.
    """

    plan: FlightPlan
    design: Design
    kept: float = 0.0

    @classmethod
    def of(
        cls, flight: Transcription, plan: FlightPlan, design: Design, kept: float = 0.0
    ) -> DesignTranscription:
        """A flight that was written with its vehicle as it is.

        Raises:
            InputError: where a vehicle with numbers near its own has other arcs, or depends on them
                in another way than this program can follow.
        """
        own = {one.name: getattr(flight, one.name) for one in fields(Transcription)}
        return cls(**own, plan=plan, design=design, kept=kept)

    def greatest_mass_problem(self) -> Problem:
        """The design's aim, with no virtual impulse."""
        family = self._family(greatest=True)
        return _Writer(self, family).written()

    def least_missing_speed_problem(self) -> Problem:
        """Least speed missing at insertion, of any vehicle between the bounds."""
        family = self._family(greatest=False)
        return _Writer(self, family).written()

    def plain_problem(self) -> Problem:
        """That of the vehicle as it is."""
        vehicle, sequence = self._variants[0]
        return self._variant(vehicle, sequence, greatest=True).problem

    def vehicle_of(self, values: Floats) -> Vehicle:
        """The vehicle with other values of the variables."""
        return self.design.vehicle(self.vehicle, values)

    @cached_property
    def _variants(self) -> tuple[tuple[Vehicle, Sequence], ...]:
        """Its own arcs, and those of changed vehicles, held on the pad for as long."""
        design, vehicle = self.design, self.vehicle
        held = seconds_held(vehicle, self.mission) or 0.0
        own = design.vehicle(vehicle, design.values(vehicle))
        others = (own, *(design.vehicle(vehicle, new) for new in design.changes(vehicle)))
        arcs = [sequence_of(held_for(one, held), self.mission, self.plan) for one in others]
        kinds = [[(arc.name, arc.kind) for arc in one.arcs] for one in arcs]
        if any(one != kinds[0] for one in kinds):
            raise InputError(
                f"Vehicle {vehicle.name!r}: the least change of {', '.join(design.names)} makes "
                "another sequence of arcs. Free fewer numbers, or begin with others."
            )
        return tuple(zip(others, arcs, strict=True))

    def _family(self, *, greatest: bool) -> Family[Variant]:
        own, *others = (self._variant(*one, greatest=greatest) for one in self._variants)
        design, vehicle = self.design, self.vehicle
        values, changed = design.values(vehicle), design.changes(vehicle)
        return Family(values, changed, own, tuple(others))

    def _variant(self, vehicle: Vehicle, sequence: Sequence, *, greatest: bool) -> Variant:
        own = {one.name: getattr(self, one.name) for one in fields(Transcription)}
        plain = Transcription(**{**own, "vehicle": vehicle, "sequence": sequence})
        problem = (
            plain.greatest_mass_problem() if greatest else plain.least_missing_speed_problem()
        )
        return Variant(vehicle, sequence, problem)

    def left_over_slopes(self, found: Solution) -> Floats | None:
        """(n,) kg left in the tank for one more of each variable, at a plain solution of it.

        None where a small change makes another problem.
        """
        envelope, family = Envelope.of(found), self._family(greatest=True)
        own, *gained = (
            envelope.change(one.problem) for one in (family.own, *family.others[:-1])
        )
        if own is None or any(one is None for one in gained):
            return None
        least = family.linear(
            "the empty mass at cut-off", lambda one: np.array([-one.sequence.propellant_in_tank(0)])
        )
        by = np.diag(np.array(family.changed[:-1]) - family.values)
        return np.asarray((np.array(gained, dtype=float) - own) / by - least.slopes[0])

    def spare(self, found: Solution) -> float:
        """Kg that a flight leaves beyond what is to be kept; below zero: overdrawn."""
        sequence = self.sequence
        if sequence.ballasted:
            return float(found.arcs[0].states[0, MASS]) - sequence.mass - self.kept
        mass = float(found.arcs[sequence.cut_off].states[-1, MASS])
        return sequence.propellant_in_tank(mass) - self.kept

    @property
    def holder(self) -> str:
        """The condition by which what is to be left holds everything else back."""
        if self.sequence.ballasted:
            return "mass"
        return held_by(self.vehicle.stages[self.sequence.arcs[self.sequence.cut_off].stage].name)

    @property
    def mass_scales(self) -> list[float]:
        """Mass at the start of each arc if all burns were complete, kg."""
        return self._mass_scales

    def burned_by_mass(self, k: int) -> bool:
        """Whether the mass, and not the length, says what an arc has left in its tank."""
        return self._shares_or_throttles(self.sequence.arcs[k])


class _Writer:
    """Puts what changes with the variables into the problem of the vehicle as it is."""

    def __init__(self, flight: DesignTranscription, family: Family[Variant]) -> None:
        self.flight, self.family = flight, family
        self.base = family.own.problem
        start = len(self.base.free)
        self.free = slice(start, start + len(family.values))
        self.names: list[str] = []
        self.numbers: list[float] = []

    def written(self) -> Problem:
        """The problem."""
        base, design = self.base, self.flight.design
        conditions = [self._condition(k) for k in range(len(base.conditions))]
        conditions += [*self._burns(), *self._floors(), *self._lift_off()]
        sizes = design.scales(self.flight.vehicle)
        lower = tuple(one.lower for one in design.variables)
        upper = tuple(one.upper for one in design.variables)
        free = tuple(
            Quantity(one.name, one.unit, float(size))
            for one, size in zip(design.variables, sizes, strict=True)
        )
        arcs, spans = self._arcs(), self._spans()
        objective, weights = self._objective(sizes)
        return replace(
            base,
            arcs=arcs,
            spans=spans,
            conditions=tuple(conditions),
            objective=objective,
            free=(*base.free, *free),
            free_bounds=Bounds(
                lower=(*base.free_bounds.lower, *lower), upper=(*base.free_bounds.upper, *upper)
            ),
            parameters=(*base.parameters, *self.names),
            parameter_values=(*weights, *self.numbers),
        )

    def _objective(self, sizes: Floats) -> tuple[Objective, tuple[float, ...]]:
        """The aim, or the missing speed, with the base's parameters as they become."""
        base, aim = self.base.objective, self.flight.design.aim
        values = self.base.parameter_values
        greatest = values[WEIGHTS][1] == 0.0
        worth = aim.worth if greatest else (0.0,) * len(sizes)
        quantity, maximise = base.quantity, base.maximise
        if greatest:
            maximise, quantity = aim.maximise, aim.quantity(sizes, quantity.scale)
            price = aim.sign * EXCESS_PRICE * quantity.scale
            told = (aim.left_over, 0.0, price)
            values = (*values[: WEIGHTS.start], *told, *values[WEIGHTS.stop :])
        slopes = self._slopes("worth", np.array([worth]))
        expression = More(base.expression, slopes)
        return Objective(quantity=quantity, expression=expression, maximise=maximise), values

    def _number(self, name: str, value: float) -> int:
        """The place of a new parameter."""
        self.names.append(name)
        self.numbers.append(float(value))
        return len(self.base.parameters) + len(self.names) - 1

    def _slopes(self, what: str, slopes: Floats) -> Slopes:
        """(rows, n) slopes as parameters."""
        first = len(self.base.parameters) + len(self.names)
        for value in slopes.ravel(order="F"):
            self._number(f"slope of {what}", value)
        last = len(self.base.parameters) + len(self.names)
        return Slopes(len(slopes), self.free, slice(first, last))

    def _condition(self, k: int) -> Condition:
        """A condition whose bounds may change."""
        own = self.base.conditions[k]
        what = ", ".join(q.name for q in own.quantities)
        lower, upper = (
            self.family.linear(what, lambda one, side=side: np.array(  # type: ignore[misc]
                getattr(one.problem.conditions[k].bounds, side)))
            for side in ("lower", "upper")
        )  # fmt: skip
        if not (lower.varies or upper.varies):
            return own
        slopes = np.where(np.isfinite(upper.constant)[:, None], upper.slopes, lower.slopes)
        expression = Less(own.expression, self._slopes(what, slopes))
        kept = np.zeros(len(own.quantities))
        if self.flight.sequence.ballasted and k == 0:
            kept[MASS] = self.flight.kept  # lift-off is the first of all conditions
        bounds = Bounds(lower=tuple(lower.constant + kept), upper=tuple(upper.constant))
        return replace(own, expression=expression, bounds=bounds)

    def _durations(self, first: int, last: int) -> tuple[Linear, Linear, Linear] | None:
        """Flow, least and most kg of a burn that spans arcs; None where its length is a number."""
        arcs = self.family.own.sequence.arcs[first:last]
        flows = "mass_flow", "side_mass_flow"
        name = next((one for one in flows if getattr(arcs[0].parameters, one) > 0.0), None)

        def flow(one: Variant) -> float:
            return 1.0 if name is None else getattr(one.sequence.arcs[first].parameters, name)

        def lengths(one: Variant) -> Floats:
            spans = one.problem.all_spans()
            found = next(s for s in spans if (s.first, s.last) == (first, last))
            return np.array([found.shortest, found.longest])

        own = [lengths(one) for one in (self.family.own, *self.family.others)]
        moved = any((one != own[0]).any() for one in own)
        if not moved and not self._holds_the_tank(first, last):
            return None
        what = f"the burn of {arcs[0].name}"
        both = self.family.linear(what, lambda one: flow(one) * lengths(one))
        least, most = (Linear(both.constant[k : k + 1], both.slopes[k : k + 1]) for k in (0, 1))
        return self.family.linear(what, lambda one: np.array([flow(one)])), least, most

    def _holds_the_tank(self, first: int, last: int) -> bool:
        """Whether this is the burn that is cut off, and its length says what it takes."""
        arcs, cut = self.family.own.sequence.arcs, self.family.own.sequence.cut_off
        if arcs[cut].kind.core_curve is not None or self._by_mass(last - 1):
            return False
        return last - 1 == cut % len(arcs) and not self._is_part(first, last)

    def _is_part(self, first: int, last: int) -> bool:
        """Whether a longer span has this one in it."""
        return any(
            one.first <= first and last <= one.last and one.last - one.first > last - first
            for one in self.base.spans
        )

    def _by_mass(self, k: int) -> bool:
        """Whether the mass at the end of a stage's burns says what the tank has left."""
        stage = self.flight.sequence.arcs[k].stage
        own = [j for j, arc in enumerate(self.flight.sequence.arcs) if arc.stage == stage]
        return any(self.flight.burned_by_mass(j) for j in own)

    @cached_property
    def _varied_spans(self) -> dict[tuple[int, int], tuple[Linear, Linear, Linear]]:
        """Burns whose length is no number, by the instants that they lie between."""
        pairs = [(one.first, one.last) for one in self.base.all_spans()]
        found = {pair: self._durations(*pair) for pair in dict.fromkeys(pairs)}
        return {pair: one for pair, one in found.items() if one is not None}

    def _burns(self) -> list[Condition]:
        """What each burn takes, between the least and the most it may."""
        return [
            condition
            for (first, last), one in self._varied_spans.items()
            if not self._is_part(first, last)
            for condition in self._burn(first, last, *one)
        ]

    def _burn(
        self, first: int, last: int, flow: Linear, least: Linear, most: Linear
    ) -> list[Condition]:
        stage = self.flight.sequence.arcs[first].stage
        name = self.flight.vehicle.stages[stage].name
        size = self.flight.mass_scales[first]
        place = self._number("flow", float(flow.constant[0]))
        burned = Burned(first, last, place, self._slopes("flow", flow.slopes))

        def held(told: str, number: Linear, low: float, high: float) -> Condition:
            own = Less(burned, self._slopes(told, number.slopes))
            by = float(number.constant[0])
            bounds = Bounds(lower=(low + by,), upper=(high + by,))
            return Condition(
                quantities=(Quantity(told, "kg", size),), expression=own, bounds=bounds
            )

        both = np.isclose(least.constant, most.constant).all() and (
            np.isclose(least.slopes, most.slopes).all()
        )
        if both:
            return [held(f"propellant that {name} burns", most, 0.0, 0.0)]
        conditions = []
        if not self._by_mass(last - 1) and np.isfinite(most.constant[0]):
            kept = self.flight.kept if self._holds_the_tank(first, last) else 0.0
            conditions.append(held(held_by(name), most, -inf, -kept))
        if least.varies and (least.slopes != flow.slopes * self._shortest(first, last)).any():
            conditions.append(held(f"propellant that {name} has to burn", least, 0.0, inf))
        return conditions

    def _shortest(self, first: int, last: int) -> float:
        return next(
            one.shortest for one in self.base.all_spans() if (one.first, one.last) == (first, last)
        )

    def _freed(self, first: int, last: int, shortest: float, longest: float) -> tuple[float, float]:
        """Bounds in s of a span, but for those that a condition holds."""
        if (first, last) not in self._varied_spans:
            return shortest, longest
        all_moved = [one.problem.all_spans() for one in self.family.others]
        moved = any(
            one.shortest != shortest
            for spans in all_moved
            for one in spans
            if (one.first, one.last) == (first, last)
        )
        return (min(shortest, SHORTEST_FREE) if moved else shortest), inf

    def _spans(self) -> tuple[Span, ...]:
        found = []
        for one in self.base.spans:
            low, high = self._freed(one.first, one.last, one.shortest, one.longest)
            found.append(replace(one, shortest=low, longest=high))
        return tuple(found)

    def _arcs(self) -> tuple[Arc, ...]:
        return tuple(self._arc(k) for k in range(len(self.base.arcs)))

    def _arc(self, k: int) -> Arc:
        """An arc whose numbers, floor and length may change."""
        own, flight = self.base.arcs[k], self.flight
        numbers = self.family.linear(
            f"what burns on {own.name}", lambda one: np.array(one.problem.arcs[k].parameters)
        )
        own = replace(
            own, duration=self._freed(k, k + 1, *own.duration), state_bounds=self._state_bounds(k)
        )
        if not numbers.varies:
            return own
        rows, columns = np.nonzero(numbers.slopes)
        names = flight.design.names
        varied: Varied = tuple((int(j), names[i]) for j, i in zip(rows, columns, strict=True))
        return replace(
            own,
            model=flight.model(k, varied),
            parameters=(*numbers.constant, *numbers.slopes[rows, columns]),
        )

    @cached_property
    def _least_masses(self) -> list[Linear]:
        """Of each arc, kg."""
        return [
            self.family.linear(
                f"the empty mass of {arc.name}",
                lambda one, k=k: np.array([one.sequence.arcs[k].least_mass]),  # type: ignore[misc]
            )
            for k, arc in enumerate(self.family.own.sequence.arcs)
        ]

    def _state_bounds(self, k: int) -> Bounds | None:
        """The floor of the mass: what no vehicle between the bounds is below, where it changes."""
        bounds, least = self.base.arcs[k].state_bounds, self._least_masses[k]
        if bounds is None or not least.varies:
            return bounds
        design = self.flight.design
        low, high = (
            np.array([getattr(one, side) for one in design.variables])
            for side in ("lower", "upper")
        )
        lower = list(bounds.lower)
        lower[MASS] = LEAST_MASS_SHARE * float(least.least(low, high)[0])
        return Bounds(lower=tuple(lower), upper=bounds.upper)

    def _floors(self) -> list[Condition]:
        """What is left at the end of a stage's burns, where their length does not say it."""
        arcs, flight = self.flight.sequence.arcs, self.flight
        last = {arc.stage: k for k, arc in enumerate(arcs) if flight.burned_by_mass(k)}
        conditions = []
        for stage, k in last.items():
            least, kept = self._least_masses[k], 0.0
            if k == flight.sequence.cut_off % len(arcs) and not flight.sequence.ballasted:
                kept = flight.kept
            if not least.varies:
                continue
            told = held_by(flight.vehicle.stages[stage].name)
            expression = Less(MassAtEnd(k), self._slopes(told, least.slopes))
            conditions.append(
                Condition(
                    quantities=(Quantity(told, "kg", flight.mass_scales[k]),),
                    expression=expression,
                    bounds=Bounds(lower=(float(least.constant[0]) + kept,), upper=(inf,)),
                )
            )
        return conditions

    def _lift_off(self) -> list[Condition]:
        """Thrust above weight, of a vehicle that is not held on the pad until it is."""
        vehicle, mission = self.flight.vehicle, self.flight.mission
        if seconds_held(vehicle, mission) != 0.0:
            return []
        thrust = self.family.linear(
            THRUST_AT_LIFT_OFF, lambda one: np.array([pad_thrust(one.vehicle, mission)])
        )
        place = self._number("gravity at the pad", (1.0 + LIFTS) * pad_gravity(mission))
        expression = More(WeightAtLiftOff(place), self._slopes(THRUST_AT_LIFT_OFF, thrust.slopes))
        size = pad_thrust(vehicle, mission)
        return [
            Condition(
                quantities=(Quantity(THRUST_AT_LIFT_OFF, "N", size),),
                expression=expression,
                bounds=Bounds(lower=(-float(thrust.constant[0]),), upper=(inf,)),
            )
        ]
