"""The greatest payload, as the user is given it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any, ClassVar

from ascentopt.arguments import checked_kinds
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import SavedResult, encode
from ascentopt.studies.payload.holder import Holder
from ascentopt.tables import Table, Tabular, one_line, page


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class MaxPayload(SavedResult, Tabular):
    """The greatest payload, with the ascent that carries it.

    Args:
        payload: kg.
        reserve: kg of propellant that had to be left.
        surplus: kg that are left above it: next to nothing where the propellant decides. Ballast
            counts, where no engine can be cut off.
        held_by: what decides, and kg of payload for one more of it.
        ascent: with this payload, solved and certified like any other.
        limits: those that act beside it, each with what one unit more is worth in payload.
    """

    payload: float
    reserve: float
    surplus: float
    held_by: Holder
    ascent: Ascent
    limits: tuple[Holder, ...] = ()

    _form: ClassVar = "greatest payload"
    _version: ClassVar = 2
    _unsigned: ClassVar = 0

    def verify(self) -> Verification:
        """As `Ascent.verify` of its ascent, which must carry the payload and leave what it says.

        That no more would fly is a search's word: search again.
        """
        one = self.ascent
        left = one.propellant_margin + one.ballast - self.reserve
        checks = tuple(
            Check(quantity=what, kept=kept, found=found, tolerance=MEASURED, unit="kg")
            for what, kept, found in (
                ("payload", self.payload, one.vehicle.payload_mass),
                ("surplus", self.surplus, left),
            )
        )
        unchecked = ("that no more would fly: search again",)
        part = Verification(subject="greatest payload", checks=checks, unchecked=unchecked)
        return one.verify().with_part(part)

    def to_table(self) -> Table:
        """One row: the payload, what holds it, and the main numbers of its ascent."""
        own = (
            ("greatest_payload", "kg"), ("reserve_asked", "kg"), ("surplus", "kg"),
            ("held_by", ""), ("one_more_of_it", ""), ("payload_for_it", "kg"),
        )  # fmt: skip
        held = self.held_by.what, self.held_by.unit, self.held_by.payload
        row = self.payload, self.reserve, self.surplus, *held
        beside = self.ascent.to_table()
        columns = [*own, *((one.name, one.unit) for one in beside.columns)]
        return Table.of("greatest payload", columns, [(*row, *beside.rows[0])])

    def _repr_html_(self) -> str:
        first, *lines = str(self).splitlines()
        return page(first, lines) + self.ascent._repr_html_()

    def __repr__(self) -> str:
        vehicle, mission = self.ascent.vehicle, self.ascent.mission
        return one_line(self, vehicle.name, f"{self.payload:.2f} kg", mission.orbit)

    def __str__(self) -> str:
        vehicle, mission = self.ascent.vehicle, self.ascent.mission
        what = "ballast" if self.ascent.ballast else "propellant"
        return (
            f"{vehicle.name}: {self.payload:.2f} kg of payload to the {mission.orbit} of "
            f"{mission.body.name}, with {self.reserve + self.surplus:.2f} kg of {what} left "
            f"({self.reserve:.2f} kg asked for)\n"
            f"  held by {self.held_by}"
            + "".join(f"\n  beside it acts {one}" for one in self.limits)
        )

    @classmethod
    def _amended(cls, data: dict[str, Any]) -> dict[str, Any]:
        """What held it was told in words alone, before it had a multiplier."""
        if not isinstance(data.get("held_by"), str):
            return data
        known = {name: value for name, value in data.items() if name != "solves"}
        told = {"held_by": Holder.unknown(data["held_by"]), "limits": ()}
        return {**known, **{name: encode(value) for name, value in told.items()}}
