"""Which numbers of a vehicle are unknowns, and the vehicle with other ones."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from math import inf

from ascentopt.errors import InputError
from ascentopt.optimal.perturbations import grown
from ascentopt.rocket import BoosterGroup, SolidMotor, Stage, Vehicle

Part = Stage | BoosterGroup


@dataclass(frozen=True, kw_only=True)
class DesignVariable(ABC):
    """A number of a vehicle that is free between two bounds, in its own unit.

    Raises:
        InputError: for bounds in the wrong order.
    """

    lower: float = 0.0
    upper: float = inf

    def __post_init__(self) -> None:
        if not (0.0 <= self.lower < self.upper and self.lower < inf):
            raise InputError(
                f"{self.name}: bounds {self.lower:g} to {self.upper:g} {self.unit} must satisfy "
                "0 <= lower < upper. Correct the pair; a number that is known is no unknown."
            )

    @property
    @abstractmethod
    def name(self) -> str:
        """Unique among the variables of a vehicle."""

    @property
    @abstractmethod
    def unit(self) -> str:
        """Of its value."""

    @abstractmethod
    def value(self, vehicle: Vehicle) -> float:
        """Of a vehicle."""

    @abstractmethod
    def changed(self, vehicle: Vehicle, value: float) -> Vehicle:
        """The vehicle with another value."""

    @abstractmethod
    def scale(self, vehicle: Vehicle) -> float:
        """Its typical size, above zero."""


@dataclass(frozen=True, kw_only=True)
class PayloadMass(DesignVariable):
    """The payload, kg."""

    @property
    def name(self) -> str:
        """As in a vehicle."""
        return "payload"

    @property
    def unit(self) -> str:
        """A mass."""
        return "kg"

    def value(self, vehicle: Vehicle) -> float:
        """In kg."""
        return vehicle.payload_mass

    def changed(self, vehicle: Vehicle, value: float) -> Vehicle:
        """With another payload."""
        return replace(vehicle, payload_mass=value)

    def scale(self, vehicle: Vehicle) -> float:
        """What the last stage brings to the orbit when it is empty, kg."""
        return vehicle.payload_mass + vehicle.stages[-1].dry_mass


@dataclass(frozen=True, kw_only=True)
class PropellantLoad(DesignVariable):
    """Propellant of a stage, or of each booster of a group, by name, kg."""

    part: str

    @property
    def name(self) -> str:
        """Of the part and what it is."""
        return f"{self.part}: propellant"

    @property
    def unit(self) -> str:
        """A mass."""
        return "kg"

    def value(self, vehicle: Vehicle) -> float:
        """In kg."""
        return part_of(vehicle, self.part).propellant_mass

    def changed(self, vehicle: Vehicle, value: float) -> Vehicle:
        """With another load, and the same engines."""
        part = part_of(vehicle, self.part)
        if isinstance(part.engine, SolidMotor):
            raise InputError(
                f"{self.name}: a solid motor's propellant is what its thrust curve burns, and no "
                "number by itself. Size parts with an Engine."
            )
        return with_part(vehicle, replace(part, propellant_mass=value))

    def scale(self, vehicle: Vehicle) -> float:
        """What it is, kg."""
        return self.value(vehicle)


@dataclass(frozen=True, kw_only=True)
class Thrust(DesignVariable):
    """Vacuum thrust of a stage by name, N; flow and nozzle grow with it, Isp stays what it is."""

    part: str

    @property
    def name(self) -> str:
        """Of the part and what it is."""
        return f"{self.part}: thrust"

    @property
    def unit(self) -> str:
        """A force."""
        return "N"

    def value(self, vehicle: Vehicle) -> float:
        """In N."""
        return part_of(vehicle, self.part).engine.mean_thrust

    def changed(self, vehicle: Vehicle, value: float) -> Vehicle:
        """With another thrust."""
        part = part_of(vehicle, self.part)
        if isinstance(part.engine, SolidMotor):
            raise InputError(
                f"{self.name}: a solid motor with more thrust burns for less time, which is no "
                "unknown of this program. Size parts with an Engine."
            )
        engine = grown(part.engine, value / part.engine.mean_thrust)
        return with_part(vehicle, replace(part, engine=engine))

    def scale(self, vehicle: Vehicle) -> float:
        """What it is, N."""
        return self.value(vehicle)


def part_of(vehicle: Vehicle, name: str) -> Part:
    """A stage or a group of boosters. Raises `InputError` where there is none of that name."""
    parts: tuple[Part, ...] = (*vehicle.stages, *vehicle.boosters)
    for part in parts:
        if part.name == name:
            return part
    raise InputError(
        f"Vehicle {vehicle.name!r} has no part {name!r}; it has {[part.name for part in parts]}. "
        "Name one of these."
    )


def with_part(vehicle: Vehicle, new: Part) -> Vehicle:
    """The vehicle with another part in the place of the one of its name."""
    if isinstance(new, Stage):
        stages = tuple(new if one.name == new.name else one for one in vehicle.stages)
        return replace(vehicle, stages=stages)
    boosters = tuple(new if one.name == new.name else one for one in vehicle.boosters)
    return replace(vehicle, boosters=boosters)
