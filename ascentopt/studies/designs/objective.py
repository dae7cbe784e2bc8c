"""What sizing is after: least mass or cost for a payload, or the greatest payload within one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket import Stage, Vehicle
from ascentopt.validation import finite, named, not_negative, positive


@checked
@dataclass(frozen=True, kw_only=True)
class StageCost:
    """What the masses of a stage cost, in a unit of the user's own.

    Args:
        stage: its name.
        per_propellant, per_dry_mass: for each kg.
        per_thrust: for each newton of vacuum thrust.

    Raises `InputError`.
    """

    stage: str
    per_propellant: float = 0.0
    per_dry_mass: float = 0.0
    per_thrust: float = 0.0

    def __post_init__(self) -> None:
        named("StageCost", self.stage, "Say which stage by its name.")
        for name in ("per_propellant", "per_dry_mass", "per_thrust"):
            fix = "Give what one kilogram, or newton, costs; 0 where it costs nothing."
            not_negative(f"StageCost of {self.stage!r}", name, getattr(self, name), "", fix)

    def of(self, stage: Stage) -> float:
        """What a stage costs."""
        return (
            self.per_propellant * stage.propellant_mass
            + self.per_dry_mass * stage.dry_mass
            + self.per_thrust * stage.engine.mean_thrust
        )


@checked
@dataclass(frozen=True, kw_only=True)
class LinearCost:
    """A cost that is linear in masses and thrusts: `fixed` and that of each stage that has one.

    In a unit of the user's own, the same throughout. Raises `InputError`.
    """

    stages: Sequence[StageCost]
    fixed: float = 0.0

    def __post_init__(self) -> None:
        object.__setattr__(self, "stages", tuple(self.stages))
        finite("LinearCost", "fixed", self.fixed, "", "Give what costs the same in any case.")
        names = [one.stage for one in self.stages]
        if not names or len(set(names)) < len(names):
            raise InputError(
                f"LinearCost: stages are {names}; there must be at least one, and none twice. "
                "Give each stage that costs something one StageCost."
            )

    def of(self, vehicle: Vehicle) -> float:
        """What a vehicle costs."""
        stages = {stage.name: stage for stage in vehicle.stages}
        return self.fixed + sum(one.of(stages[one.stage]) for one in self.stages)


@checked
@dataclass(frozen=True, kw_only=True)
class LiftOffMassBudget:
    """At most so many kg on the pad, payload included. Raises `InputError`."""

    most: float

    def __post_init__(self) -> None:
        positive("LiftOffMassBudget", "most", self.most, "kg", "Give the mass on the pad in kg.")

    def __str__(self) -> str:
        return f"at most {self.most:.10g} kg at lift-off"


@checked
@dataclass(frozen=True, kw_only=True)
class CostBudget:
    """At most so much of a linear cost, in its unit. Raises `InputError`."""

    cost: LinearCost
    most: float

    def __post_init__(self) -> None:
        positive("CostBudget", "most", self.most, "", "Give it in the unit of the cost.")

    def __str__(self) -> str:
        return f"a cost of at most {self.most:.10g}"


Budget = LiftOffMassBudget | CostBudget
"""What a greatest payload may be limited by."""


@checked
@dataclass(frozen=True, kw_only=True)
class LeastLiftOffMass:
    """The least mass on the pad for the payload of the vehicle."""

    def __str__(self) -> str:
        return "least lift-off mass"


@checked
@dataclass(frozen=True, kw_only=True)
class LeastCost:
    """The least of a cost that is linear in masses, for the payload of the vehicle."""

    cost: LinearCost

    def __str__(self) -> str:
        return "least cost"


@checked
@dataclass(frozen=True, kw_only=True)
class GreatestPayload:
    """The greatest payload within a budget.

    The payload is an unknown by itself; that of the vehicle is where the search begins. `within`
    may only be left out where no propellant is free: with more of it every vehicle carries more.
    """

    within: Budget | None = None

    def __str__(self) -> str:
        return f"greatest payload{'' if self.within is None else f' within {self.within}'}"


SizingObjective = LeastLiftOffMass | LeastCost | GreatestPayload
"""What can be asked for."""
