"""Numbers of a vehicle that sizing may choose, each between two bounds."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import Any, ClassVar

from ascentopt.arguments import checked
from ascentopt.optimal.perturbations import grown
from ascentopt.rocket import Stage, Vehicle
from ascentopt.rocket.structural_law import area_of
from ascentopt.validation import named, positive, require

AT_BOUND = 1e-6
"""Share of the room between the bounds within which a number is at one of them."""


class FreeNumber(ABC):
    """A number of a vehicle between two bounds, `least` and `most`, in its `unit`."""

    least: float
    most: float
    unit: ClassVar[str]

    def _check_bounds(self) -> None:
        owner, fix = type(self).__name__, "Give both bounds, the smaller one first."
        for name in ("least", "most"):
            positive(owner, name, getattr(self, name), self.unit, fix)
        rule = f"above least ({self.least!r} {self.unit})"
        require(owner, "most", self.most, self.unit, rule, fix, holds=self.most > self.least)

    @property
    @abstractmethod
    def quantity(self) -> str:
        """What it is, in the trade's words; of one vehicle no two are alike."""

    @abstractmethod
    def value_in(self, vehicle: Vehicle) -> float:
        """Its value in a vehicle."""


class FreeStageNumber(FreeNumber):
    """One that is a stage's."""

    stage: str

    @abstractmethod
    def value_of(self, stage: Stage) -> float:
        """Its value of a stage."""

    @abstractmethod
    def changes(self, stage: Stage, value: float) -> dict[str, Any]:
        """Fields of the stage that another value changes, the dry mass apart."""

    def value_in(self, vehicle: Vehicle) -> float:
        """Its value in a vehicle."""
        return self.value_of(vehicle.stages[place_of(vehicle, self.stage)])

    def _check(self) -> None:
        named(type(self).__name__, self.stage, "Say which stage by its name.")
        self._check_bounds()


@checked
@dataclass(frozen=True, kw_only=True)
class FreePropellant(FreeStageNumber):
    """The propellant of a stage, between `least` and `most` kg.

    Its dry mass follows by the stage's `StructuralLaw`. Raises `InputError`.
    """

    stage: str
    least: float
    most: float

    unit: ClassVar = "kg"

    def __post_init__(self) -> None:
        self._check()

    @property
    def quantity(self) -> str:
        """Name of the stage and the quantity, as in `Partials`."""
        return f"{self.stage}: propellant"

    def value_of(self, stage: Stage) -> float:
        """Propellant in kg."""
        return stage.propellant_mass

    def changes(self, stage: Stage, value: float) -> dict[str, Any]:
        """Its propellant."""
        return {"propellant_mass": value}


@checked
@dataclass(frozen=True, kw_only=True)
class FreeThrust(FreeStageNumber):
    """The vacuum thrust of a stage's engines together, between `least` and `most` newtons.

    It stands for more, or larger, engines of the same kind: specific impulses and least throttle
    stay, sea-level thrust and exit area grow with it. Their mass follows by the stage's
    `StructuralLaw`. Raises `InputError`.
    """

    stage: str
    least: float
    most: float

    unit: ClassVar = "N"

    def __post_init__(self) -> None:
        self._check()

    @property
    def quantity(self) -> str:
        """Name of the stage and the quantity."""
        return f"{self.stage}: vacuum thrust"

    def value_of(self, stage: Stage) -> float:
        """Vacuum thrust in N."""
        return stage.engine.mean_thrust

    def changes(self, stage: Stage, value: float) -> dict[str, Any]:
        """Its engine."""
        return {"engine": grown(stage.engine, value / self.value_of(stage))}


@checked
@dataclass(frozen=True, kw_only=True)
class FreeReferenceArea(FreeNumber):
    """The reference area of the vehicle's aerodynamics, between `least` and `most` m^2.

    The coefficients stay. What a larger diameter weighs, or saves, follows by `per_area` of the
    stages' `StructuralLaw`. Raises `InputError`.
    """

    least: float
    most: float

    unit: ClassVar = "m^2"

    def __post_init__(self) -> None:
        self._check_bounds()

    @property
    def quantity(self) -> str:
        """What it is called in `Partials`."""
        return "reference area"

    def value_in(self, vehicle: Vehicle) -> float:
        """Reference area in m^2; zero without aerodynamics."""
        return area_of(vehicle)


@dataclass(frozen=True, kw_only=True)
class FreePayload(FreeNumber):
    """The payload between `least` and `most` kg: what `GreatestPayload` seeks."""

    least: float
    most: float

    unit: ClassVar = "kg"

    @property
    def quantity(self) -> str:
        """What it is called in `Partials`."""
        return "payload"

    def value_in(self, vehicle: Vehicle) -> float:
        """Payload in kg."""
        return vehicle.payload_mass


def place_of(vehicle: Vehicle, stage: str) -> int:
    """Index of a stage by its name."""
    return [one.name for one in vehicle.stages].index(stage)
