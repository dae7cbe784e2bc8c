"""What a stage weighs empty, by what it holds and how hard it pushes."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket.stage import Stage
from ascentopt.rocket.vehicle import Vehicle
from ascentopt.validation import finite, named, not_negative


@checked
@dataclass(frozen=True, kw_only=True)
class StructuralLaw:
    """The dry mass of a stage: fixed + shares of its propellant, thrust and diameter.

    Args:
        stage: its name.
        fixed: kg that do not change; may be negative where the line is a tangent.
        per_propellant: kg of tanks and structure for each kg of propellant.
        per_thrust: kg of engines for each newton of vacuum thrust.
        per_area: kg for each m^2 of reference area; negative where wider tanks are lighter.

    Raises `InputError`.
    """

    stage: str
    fixed: float = 0.0
    per_propellant: float = 0.0
    per_thrust: float = 0.0
    per_area: float = 0.0

    def __post_init__(self) -> None:
        owner = f"StructuralLaw of {self.stage!r}"
        named("StructuralLaw", self.stage, "Say which stage by its name.")
        fix = "Give it in kg."
        finite(owner, "fixed", self.fixed, "kg", fix)
        fix = "Give kg of tanks and structure for each kg of propellant; 0.05 is common."
        not_negative(owner, "per_propellant", self.per_propellant, "kg/kg", fix)
        fix = "Give kg of engines for each newton of vacuum thrust; 1.5e-3 is common."
        not_negative(owner, "per_thrust", self.per_thrust, "kg/N", fix)
        fix = "Give kg for each m^2 of reference area."
        finite(owner, "per_area", self.per_area, "kg/m^2", fix)

    @classmethod
    def through(
        cls,
        vehicle: Vehicle,
        stage: str,
        *,
        per_propellant: float,
        per_thrust: float = 0.0,
        per_area: float = 0.0,
    ) -> StructuralLaw:
        """The law with these shares by which the stage of a vehicle weighs what it weighs.

        Raises:
            InputError: for a name that no stage has.
        """
        one = stage_named("StructuralLaw.through", vehicle, stage)
        bare = cls(
            stage=stage,
            per_propellant=per_propellant,
            per_thrust=per_thrust,
            per_area=per_area,
        )
        shares = bare.dry_mass(one.propellant_mass, one.engine.mean_thrust, area_of(vehicle))
        return cls(
            stage=stage,
            fixed=one.dry_mass - shares,
            per_propellant=per_propellant,
            per_thrust=per_thrust,
            per_area=per_area,
        )

    def dry_mass(self, propellant: float, thrust: float, area: float = 0.0) -> float:
        """Dry mass in kg by propellant in kg, vacuum thrust in N and reference area in m^2."""
        return (
            self.fixed
            + self.per_propellant * propellant
            + self.per_thrust * thrust
            + self.per_area * area
        )

    def applied(self, vehicle: Vehicle) -> Vehicle:
        """The vehicle with its stage as heavy as this says.

        Raises:
            InputError: for a name that no stage has, or where that is no vehicle.
        """
        old = stage_named("StructuralLaw", vehicle, self.stage)
        dry = self.dry_mass(old.propellant_mass, old.engine.mean_thrust, area_of(vehicle))
        new = replace(old, dry_mass=dry)
        return replace(vehicle, stages=tuple(new if one is old else one for one in vehicle.stages))

    def __str__(self) -> str:
        terms = [f"{self.fixed:g} kg"]
        for share, of in (
            (self.per_propellant, "of propellant"),
            (self.per_thrust, "kg/N of thrust"),
            (self.per_area, "kg/m^2 of reference area"),
        ):
            terms += [f"{share:g} {of}"] if share else []
        return f"{self.stage}: dry mass {' + '.join(terms)}"


def stage_named(owner: str, vehicle: Vehicle, stage: str) -> Stage:
    """The stage of that name. Raises `InputError` that names those there are."""
    for one in vehicle.stages:
        if one.name == stage:
            return one
    there = ", ".join(repr(one.name) for one in vehicle.stages)
    boosters = [group.name for group in vehicle.boosters]
    also = " Boosters are not sized." if stage in boosters else ""
    raise InputError(
        f"{owner}: stage is {stage!r}; it must be the name of a stage of {vehicle.name}: {there}."
        f"{also} Give one of these."
    )


def area_of(vehicle: Vehicle) -> float:
    """Reference area in m^2; zero without aerodynamics."""
    return vehicle.aerodynamics.reference_area if vehicle.aerodynamics is not None else 0.0
