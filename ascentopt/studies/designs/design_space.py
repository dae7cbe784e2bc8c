"""The vehicles that sizing chooses among, and what each of them costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.rocket import Stage, Vehicle
from ascentopt.rocket.structural_law import StructuralLaw, area_of
from ascentopt.studies.designs.free import (
    FreeNumber,
    FreePayload,
    FreeReferenceArea,
    FreeStageNumber,
)
from ascentopt.studies.designs.objective import (
    Budget,
    CostBudget,
    GreatestPayload,
    LeastLiftOffMass,
    SizingObjective,
)
from ascentopt.typing import Floats

Values = Sequence[float] | Floats
"""Of the unknowns, in their order."""


_STEP = 1e-3
"""Share of the room between bounds for slopes of costs: they are linear, and rounding leaves 1e-13
of the cost."""


@dataclass(frozen=True, kw_only=True)
class DesignSpace:
    """What is free in a vehicle, by which laws the rest follows, and what is sought.

    Args:
        vehicle: as described; where the search begins.
        free: what may change.
        laws: dry masses of the stages that change.
        objective: what is sought.
    """

    vehicle: Vehicle
    free: tuple[FreeNumber, ...]
    laws: tuple[StructuralLaw, ...]
    objective: SizingObjective

    @cached_property
    def unknowns(self) -> tuple[FreeNumber, ...]:
        """All that is free; last the payload, where that is sought."""
        if not self.seeks_payload:
            return self.free
        heaviest = self._laid_out([one.most for one in self.free])
        return (*self.free, FreePayload(least=0.0, most=heaviest.lift_off_mass))

    @property
    def seeks_payload(self) -> bool:
        """Whether the payload is what is sought."""
        return isinstance(self.objective, GreatestPayload)

    @property
    def budget(self) -> Budget | None:
        """What the payload is limited by; None where it is not sought, or by nothing."""
        return self.objective.within if isinstance(self.objective, GreatestPayload) else None

    @cached_property
    def lower(self) -> Floats:
        """(n,) least values of the unknowns."""
        return np.array([one.least for one in self.unknowns], dtype=float)

    @cached_property
    def upper(self) -> Floats:
        """(n,) greatest values of the unknowns."""
        return np.array([one.most for one in self.unknowns], dtype=float)

    @cached_property
    def worth(self) -> Floats:
        """(n,) of one unit more of each unknown, to be least: payload that is sought, or cost."""
        if self.seeks_payload:
            return np.array([*(0.0 for _ in self.free), -1.0])
        return self.cost_slopes

    def values_of(self, vehicle: Vehicle) -> Floats:
        """(n,) values of the unknowns in a vehicle."""
        return np.array([one.value_in(vehicle) for one in self.unknowns], dtype=float)

    def start(self) -> Floats:
        """(n,) values of the described vehicle, as far as the bounds allow them."""
        return np.clip(self.values_of(self.vehicle), self.lower, self.upper)

    def vehicle_at(self, values: Values) -> Vehicle:
        """The vehicle with these values of the unknowns, dry masses by their laws.

        Raises:
            InputError: where that is no vehicle.
        """
        laid_out = self._laid_out(values[: len(self.free)])
        return replace(laid_out, payload_mass=float(values[-1])) if self.seeks_payload else laid_out

    def _laid_out(self, values: Values) -> Vehicle:
        """The vehicle with its own payload; each stage is made at once, lest half of it be odd."""
        given = self.vehicle
        pairs = [(one, float(value)) for one, value in zip(self.free, values, strict=True)]
        area = next((v for one, v in pairs if isinstance(one, FreeReferenceArea)), area_of(given))
        stages = tuple(self._stage(stage, pairs, area) for stage in given.stages)
        air = given.aerodynamics
        air = None if air is None else replace(air, reference_area=area)
        return replace(given, stages=stages, aerodynamics=air)

    def _stage(self, stage: Stage, pairs: list[tuple[FreeNumber, float]], area: float) -> Stage:
        changes: dict[str, Any] = {}
        for one, value in pairs:
            if isinstance(one, FreeStageNumber) and one.stage == stage.name:
                changes |= one.changes(stage, value)
        for law in self.laws:
            if law.stage == stage.name:
                held = changes.get("propellant_mass", stage.propellant_mass)
                thrust = changes.get("engine", stage.engine).mean_thrust
                changes["dry_mass"] = law.dry_mass(held, thrust, area)
        return replace(stage, **changes) if changes else stage

    def cost_of(self, vehicle: Vehicle) -> float:
        """What a vehicle costs: what is to be least, or is limited by the budget.

        Lift-off mass in kg, or a cost in its own unit; nothing where nothing limits a payload.
        """
        if isinstance(self.objective, LeastLiftOffMass):
            return vehicle.lift_off_mass
        if not isinstance(self.objective, GreatestPayload):
            return self.objective.cost.of(vehicle)
        if isinstance(self.budget, CostBudget):
            return self.budget.cost.of(vehicle)
        return 0.0 if self.budget is None else vehicle.lift_off_mass

    def value_of(self, vehicle: Vehicle) -> float:
        """The objective of a vehicle: its payload where that is sought, else what it costs."""
        return vehicle.payload_mass if self.seeks_payload else self.cost_of(vehicle)

    @property
    def counts_mass(self) -> bool:
        """Whether `cost_of` is lift-off mass, in kg."""
        of_mass = isinstance(self.objective, LeastLiftOffMass) or self.budget is not None
        return of_mass and not isinstance(self.budget, CostBudget)

    @cached_property
    def cost_slopes(self) -> Floats:
        """(n,) what one unit more of each unknown costs: the same anywhere, as laws are linear."""
        at = self.start()
        return np.array([self._cost_slope(at, k) for k in range(len(at))])

    def _cost_slope(self, at: Floats, k: int) -> float:
        """By a difference to either side: boosters that outlast their core are no vehicle."""
        step = _STEP * (self.upper[k] - self.lower[k])
        here = self.cost_of(self.vehicle_at(at))
        for by in (step, -step):
            moved = at.copy()
            moved[k] += by
            try:
                return (self.cost_of(self.vehicle_at(moved)) - here) / float(by)
            except InputError:
                continue
        raise InputError(
            f"size: {self.unknowns[k].quantity} of {at[k]:.6g} allows neither more nor less. Give "
            "another vehicle to begin with."
        )


def in_words(vehicle: Vehicle) -> str:
    """A design by its two main masses."""
    return f"{vehicle.lift_off_mass:.2f} kg with {vehicle.payload_mass:.2f} kg of payload"
