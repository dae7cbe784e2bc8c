"""A flight as a problem in which numbers of its vehicle are free."""

from __future__ import annotations

from dataclasses import dataclass, fields
from functools import cached_property

import numpy as np

from ascentopt.collocation import Envelope, Problem, Solution
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.hold_down import held_for, seconds_held
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.family import Frame, Variant, held_by
from ascentopt.optimal.design.linear_numbers import Family
from ascentopt.optimal.design.writer import Writer
from ascentopt.optimal.problem.transcription import Transcription
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats


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
        return self._written(greatest=True)

    def least_missing_speed_problem(self) -> Problem:
        """Least speed missing at insertion, of any vehicle between the bounds."""
        return self._written(greatest=False)

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

    def _written(self, *, greatest: bool) -> Problem:
        arcs = range(len(self.sequence.arcs))
        frame = Frame(
            design=self.design,
            mission=self.mission,
            kept=self.kept,
            family=self._family(greatest=greatest),
            mass_scales=tuple(self._mass_scales),
            by_mass=tuple(self._shares_or_throttles(self.sequence.arcs[k]) for k in arcs),
            model=self.model,
        )
        return Writer(frame).written()
