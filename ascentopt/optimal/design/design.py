"""What is free in a vehicle, and what is asked of it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf

import numpy as np

from ascentopt.collocation import Quantity
from ascentopt.errors import InputError
from ascentopt.optimal.design.variables import DesignVariable, PayloadMass
from ascentopt.rocket import Vehicle
from ascentopt.rocket.structural_law import StructuralLaw
from ascentopt.typing import Floats

LEFT_OVER = 0.01
"""Kg of payload that a kilogram left over is worth, where the greatest payload is asked. Where the
tank holds the payload nothing is left over, and this changes nothing; where something else does,
the flight is the one that leaves most. A kilogram of payload costs up to some ten of what is left,
and the payload comes first by as much again."""

CHANGE = 1e-3
"""Of its size, by which a number of a vehicle is changed to see what follows: all of that is
linear, so that rounding alone decides, and a vehicle held down on its pad is not held again."""


@dataclass(frozen=True, kw_only=True)
class Aim:
    """What is made greatest or least: ``worth`` . d + ``left_over`` times the mass at cut-off.

    Args:
        name, unit: of it.
        worth: one of it for each variable.
        left_over: of each kg of mass at the last cut-off that is free.
        maximise: whether it is made greatest.
    """

    name: str
    unit: str
    worth: tuple[float, ...]
    left_over: float = 0.0
    maximise: bool = False

    @property
    def sign(self) -> float:
        """Factor that turns it into a cost."""
        return -1.0 if self.maximise else 1.0

    def quantity(self, sizes: Floats, mass: float) -> Quantity:
        """With its size, of variables and a mass at cut-off of such sizes."""
        size = max(float(np.abs(np.array(self.worth) * sizes).max()), abs(self.left_over) * mass)
        return Quantity(self.name, self.unit, size)


@dataclass(frozen=True, kw_only=True)
class Design:
    """The numbers of a vehicle that are free, what follows from them, and what is asked.

    Args:
        variables: each of another name.
        aim: with a worth for each variable.
        dry_masses: laws, at most one for a stage; others keep their dry mass.

    Raises:
        InputError: no variables, two of one name, or an aim of another size.
    """

    variables: tuple[DesignVariable, ...]
    aim: Aim
    dry_masses: tuple[StructuralLaw, ...] = ()

    def __post_init__(self) -> None:
        names = [one.name for one in self.variables]
        if not names or len(set(names)) != len(names):
            raise InputError(f"Design: variables {names} must be unique, and at least one.")
        if len(self.aim.worth) != len(names):
            raise InputError(
                f"Design: the aim has {len(self.aim.worth)} entries in worth for {len(names)} "
                "variables. Give one for each."
            )

    @classmethod
    def greatest_payload(cls, *, lower: float = 0.0, upper: float = inf) -> Design:
        """The payload alone is free, and made greatest."""
        aim = Aim(name="payload", unit="kg", worth=(1.0,), left_over=LEFT_OVER, maximise=True)
        return cls(variables=(PayloadMass(lower=lower, upper=upper),), aim=aim)

    @classmethod
    def least_lift_off_mass(
        cls,
        vehicle: Vehicle,
        variables: tuple[DesignVariable, ...],
        dry_masses: tuple[StructuralLaw, ...] = (),
    ) -> Design:
        """The lightest vehicle on the pad."""
        nothing = Aim(name="mass at lift-off", unit="kg", worth=(0.0,) * len(variables))
        free = cls(variables=variables, aim=nothing, dry_masses=dry_masses)
        worth = free.slopes_of_lift_off_mass(vehicle)
        aim = Aim(name="mass at lift-off", unit="kg", worth=worth)
        return cls(variables=variables, aim=aim, dry_masses=dry_masses)

    @property
    def names(self) -> tuple[str, ...]:
        """Of the variables."""
        return tuple(one.name for one in self.variables)

    def values(self, vehicle: Vehicle) -> Floats:
        """(n,) of a vehicle."""
        return np.array([one.value(vehicle) for one in self.variables])

    def scales(self, vehicle: Vehicle) -> Floats:
        """(n,) sizes."""
        return np.array([one.scale(vehicle) for one in self.variables])

    def vehicle(self, like: Vehicle, values: Floats) -> Vehicle:
        """A vehicle with other values, and the dry masses that follow.

        Raises:
            InputError: as a vehicle with such numbers.
        """
        for one, value in zip(self.variables, values, strict=True):
            like = one.changed(like, float(value))
        for law in self.dry_masses:
            like = law.applied(like)
        return like

    def changes(self, vehicle: Vehicle) -> tuple[Floats, ...]:
        """(n,) values with one of them changed, for each, and with all of them."""
        at, by = self.values(vehicle), CHANGE * self.scales(vehicle)
        each = [at + by * (np.arange(len(at)) == k) for k in range(len(at))]
        return (*each, at + by)

    def slopes_of_lift_off_mass(self, vehicle: Vehicle) -> tuple[float, ...]:
        """Kg at lift-off for one of each variable."""
        own, at = self.vehicle(vehicle, self.values(vehicle)), self.values(vehicle)
        return tuple(
            (self.vehicle(vehicle, new).lift_off_mass - own.lift_off_mass) / (new - at)[k]
            for k, new in enumerate(self.changes(vehicle)[:-1])
        )
