"""A sized vehicle, as the user is given it."""

from __future__ import annotations

from dataclasses import dataclass
from math import isnan
from typing import ClassVar

from ascentopt.arguments import checked_kinds
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import SavedResult
from ascentopt.rocket import Vehicle
from ascentopt.rocket.structural_law import StructuralLaw
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import place_of
from ascentopt.studies.designs.objective import SizingObjective
from ascentopt.studies.sizing.sized_number import SizedNumber
from ascentopt.tables import Table, Tabular, one_line, page

BALANCED = 1e-3
"""Share of the objective that doubling a free number may still promise to first order."""


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Sizing(SavedResult, Tabular):
    """The best vehicle within the bounds and its ascent.

    Args:
        given: the vehicle as it was described.
        objective: what was sought.
        laws: dry masses of the stages that were free.
        numbers: what was free, with bounds and prices.
        value: the objective: kg at lift-off, a cost in its own unit, or kg of payload.
        exchange: kg of payload that one unit of cost buys, in lift-off mass one kilogram, wherever
            it is spent on what no bound holds; nan where nothing of that kind was free, inf where
            the bounds leave more propellant than is needed.
        objective_slope: by how much the least mass or cost grows with a kg of payload, or the
            greatest payload with a unit of the budget; nan where nothing is known of it.
        kept: kg of propellant that the search left beyond the reserve, next to nothing, lest
            rounding decide whether the vehicle flies.
        ascent: of the sized vehicle, solved and certified like any other.
        settled: whether nothing is gained any more, neither by the numbers nor by another
            structure of the flight; not so where the search was stopped.
        history: a line for each design that the search went on from.
        beginnings: a line for each other design that the search began again with, as bounds held
            numbers of the one it had settled on, and the objective that this led to.
    """

    given: Vehicle
    objective: SizingObjective
    laws: tuple[StructuralLaw, ...]
    numbers: tuple[SizedNumber, ...]
    value: float
    exchange: float
    objective_slope: float
    kept: float
    ascent: Ascent
    settled: bool
    history: tuple[str, ...] = ()
    beginnings: tuple[str, ...] = ()

    _form: ClassVar = "sizing"
    _version: ClassVar = 1
    _unsigned: ClassVar = 0

    @property
    def vehicle(self) -> Vehicle:
        """The sized vehicle."""
        return self.ascent.vehicle

    @property
    def imbalance(self) -> float:
        """Share of the objective that doubling the worst balanced free number would promise.

        To first order, the rest sized again; zero at an optimum, where all prices are.
        """
        free = [abs(one.price * one.value) for one in self.numbers if one.is_free]
        return max(free, default=0.0) / abs(self.value)

    @property
    def balanced(self) -> bool:
        """Whether what a unit of cost buys is the same wherever it may be spent."""
        return self.imbalance <= BALANCED

    def __getitem__(self, quantity: str) -> SizedNumber:
        """The number of this quantity; KeyError with those there are."""
        for one in self.numbers:
            if one.quantity == quantity:
                return one
        there = [one.quantity for one in self.numbers]
        raise KeyError(f"{quantity!r} was not free; there are {there}")

    def verify(self) -> Verification:
        """As `Ascent.verify` of its ascent, whose vehicle must be the one that its numbers make.

        That none within the bounds is better is a search's word: size again.
        """
        vehicle = self.vehicle
        design = DesignSpace(vehicle=self.given, free=(), laws=(), objective=self.objective)
        pairs = [("objective", self.value, design.value_of(vehicle), "")]
        for law in self.laws:
            stage = vehicle.stages[place_of(vehicle, law.stage)]
            area = 0.0 if vehicle.aerodynamics is None else vehicle.aerodynamics.reference_area
            by_law = law.dry_mass(stage.propellant_mass, stage.engine.mean_thrust, area)
            pairs.append((f"{law.stage}: dry mass", by_law, stage.dry_mass, "kg"))
        checks = tuple(
            Check(quantity=what, kept=kept, found=found, tolerance=MEASURED, unit=unit)
            for what, kept, found, unit in pairs
        )
        unchecked = ("prices, and that no other design is better: size again",)
        part = Verification(subject="sizing", checks=checks, unchecked=unchecked)
        return self.ascent.verify().with_part(part)

    def to_table(self) -> Table:
        """A row for each number that was free; numbers in the unit that the row names."""
        columns = (
            ("quantity", ""), ("unit", ""), ("least", "unit"), ("most", "unit"),
            ("given", "unit"), ("sized", "unit"), ("held_by", ""), ("payload", "kg per unit"),
            ("cost", "per unit"), ("exchange", "kg per cost"), ("price", "objective per unit"),
        )  # fmt: skip
        rows = (
            (
                one.quantity, one.unit, one.least, one.most, one.given, one.value, one.held_by,
                one.payload, one.cost, one.exchange, one.price,
            )
            for one in self.numbers
        )  # fmt: skip
        return Table.of("sizing", columns, rows, notes=self._head_lines)

    @property
    def mass_table(self) -> Table:
        """A row for each stage: propellant, dry mass and thrust, as given and as sized."""
        columns = (
            ("stage", ""), ("propellant_given", "kg"), ("propellant", "kg"), ("dry_given", "kg"),
            ("dry", "kg"), ("vacuum_thrust_given", "N"), ("vacuum_thrust", "N"),
        )  # fmt: skip
        rows = (
            (
                new.name, float(old.propellant_mass), float(new.propellant_mass),
                float(old.dry_mass), float(new.dry_mass), old.engine.mean_thrust,
                new.engine.mean_thrust,
            )
            for old, new in zip(self.given.stages, self.vehicle.stages, strict=True)
        )  # fmt: skip
        return Table.of("masses of the stages", columns, rows)

    @property
    def _head_lines(self) -> list[str]:
        vehicle, mission = self.vehicle, self.ascent.mission
        subject = f"{vehicle.name} to {mission.orbit} of {mission.body.name}"
        value = f"{self.value:.6g}{' kg' if self._in_kg else ''}"
        lines = [
            f"{subject}, {self.objective}: {value}",
            f"  sized: {_masses_of(vehicle)}",
            f"  as described: {_masses_of(self.given)}",
            f"  {self.slope_in_words}",
        ]
        if not self.settled:
            lines.append("  UNFINISHED: the search was stopped, or did not settle")
        elif not self.balanced:
            lines.append(f"  NOT balanced: prices promise {self.imbalance:.2g} of the objective")
        return [*lines, *(f"  {line}" for line in self.beginnings)]

    @property
    def _design(self) -> DesignSpace:
        return DesignSpace(vehicle=self.given, free=(), laws=(), objective=self.objective)

    @property
    def counts_mass(self) -> bool:
        """Whether cost is mass at lift-off, in kg; else in a unit of the user's own, or nothing."""
        return self._design.counts_mass

    @property
    def _in_kg(self) -> bool:
        return self._design.seeks_payload or self.counts_mass

    @property
    def slope_in_words(self) -> str:
        """What a kg of payload takes, or what one more of the budget brings."""
        slope, mass = self.objective_slope, self.counts_mass
        if isnan(slope) and not self.settled:
            return "what a kg of payload is worth is not known: the search did not settle"
        if isnan(slope):
            return "nothing that costs anything was left free: no exchange rate"
        if not self._design.seeks_payload:
            return f"a kg of payload more takes {slope:.4g}{' kg' if mass else ''} more"
        what = "kg at lift-off" if mass else "unit of cost"
        return f"a {what} more allows {slope:.4g} kg more of payload"

    def _row(self, one: SizedNumber) -> str:
        bought = f"{one.exchange:14.5g}" if one.cost else f"{'-':>14}"
        price = f"at its {one.held_by}: {one.price:+.4g}" if one.held_by else "free"
        return (
            f"  {one.quantity:28}{one.given:14.6g}{one.value:14.6g} {one.unit:4}{bought}  {price}"
        )

    @property
    def _rows(self) -> list[str]:
        heads = f"{'given':>14}{'sized':>14}     {'a unit buys':>14}"
        return [f"  {'':28}{heads}  one unit more", *map(self._row, self.numbers)]

    def _repr_html_(self) -> str:
        first, *lines = self._head_lines
        tables = [self.to_table(), self.mass_table]
        return page(first, lines, tables) + self.ascent._repr_html_()

    def __repr__(self) -> str:
        unit = " kg" if self._in_kg else ""
        state = "settled" if self.settled else "unfinished"
        return one_line(
            self, self.vehicle.name, str(self.objective), f"{self.value:.6g}{unit}", state
        )

    def __str__(self) -> str:
        lines = [*self._head_lines, "", *self._rows, "", str(self.vehicle), ""]
        return "\n".join([*lines, "Preliminary analysis only."])


def _masses_of(vehicle: Vehicle) -> str:
    lift_off, payload = vehicle.lift_off_mass, vehicle.payload_mass
    return f"{lift_off:.2f} kg at lift-off for {payload:.2f} kg of payload"
