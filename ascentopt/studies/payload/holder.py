"""What holds the greatest payload where it is, and what one more of that is worth."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass
from enum import Enum

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.optimal.design.solve import NOTHING
from ascentopt.optimal.design.writer import THRUST_AT_LIFT_OFF
from ascentopt.optimal.perturbations import STEP, Case, Variation, variations
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.persistence import Result
from ascentopt.studies.payload.arrival import GreatestPayload
from ascentopt.tables import one_line

ACTS = 1e-6
"""Share of the payload that a limit is worth, partial times limit, from which it acts."""


class HeldBy(Enum):
    """The kind of what holds a greatest payload."""

    TANK = "a tank that is empty"
    MOTORS = "motors that burn to their end"
    THRUST_AT_LIFT_OFF = "the weight on the pad"
    THRUST = "a stage that is too weak for a heavier one"
    LIMIT = "a limit"
    UNKNOWN = "nothing that is known"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Holder(Result):
    """Something that holds a payload.

    Args:
        kind: of what it is.
        what: its name.
        unit: of what there might be more of.
        payload: kg of payload for one unit more; None where nobody knows.
    """

    kind: HeldBy
    what: str
    unit: str = ""
    payload: float | None = None

    @classmethod
    def unknown(cls, what: str) -> Holder:
        """Of which nothing but words are known."""
        return cls(kind=HeldBy.UNKNOWN, what=what)

    def __repr__(self) -> str:
        worth = () if self.payload is None else (f"{self.payload:.4g} kg per {self.unit}",)
        return one_line(self, repr(self.what), *worth)

    def __str__(self) -> str:
        if self.payload is None:
            return self.what
        return f"{self.what}: {self.payload:.4g} kg of payload for each {self.unit} more"


def holder_of(found: GreatestPayload) -> Holder:
    """What holds a payload that was found."""
    designed, ascent = found.designed, found.optimum.ascent
    worth = designed.payload_for_left_over
    if worth > 0.0 and designed.flight.sequence.ballasted:
        return Holder(kind=HeldBy.MOTORS, what="the motors", unit="kg of ballast", payload=worth)
    if worth > 0.0:
        stage = ascent.vehicle.stages[designed.attempt.sequence.arcs[-1].stage].name
        what, left = f"the propellant of {stage}", _left_of_a_kilogram_more(ascent, stage)
        payload = None if left is None else worth * left
        return Holder(kind=HeldBy.TANK, what=what, unit="kg in its tank", payload=payload)
    lift = abs(designed.multipliers.get(THRUST_AT_LIFT_OFF, 0.0))
    if lift > NOTHING:
        what, kilo = "the thrust at lift-off", 1e3 * lift
        return Holder(kind=HeldBy.THRUST_AT_LIFT_OFF, what=what, unit="kN", payload=kilo)
    return _weakest(found)


def _left_of_a_kilogram_more(ascent: Ascent, stage: str) -> float | None:
    """Kg that are left of one more in a stage's tank: it has to be carried as well."""
    name = f"{stage}: propellant"
    return next((row.margin for row in ascent.partials if row.quantity == name), None)


def _weakest(found: GreatestPayload) -> Holder:
    """The thrust or the limit of which a hundredth more is worth most payload."""
    ascent = found.optimum.ascent
    case = Case(ascent.vehicle, ascent.mission)
    known = [*_worths(found, case)]
    if not known:
        return Holder.unknown("nothing that is known")
    variation, payload = max(known, key=lambda one: abs(one[1]) * _hundredth(one[0]))
    kind = HeldBy.THRUST if variation.limit is None else HeldBy.LIMIT
    what = f"the {variation.quantity}" if kind is HeldBy.LIMIT else variation.quantity
    return Holder(kind=kind, what=what, unit=variation.unit, payload=payload)


def _worths(found: GreatestPayload, case: Case) -> Iterator[tuple[Variation, float]]:
    """Thrusts and limits, and kg of payload for a unit of each."""
    for one in variations(case):
        if one.limit is None and not one.quantity.endswith(": thrust"):
            continue
        with suppress(InputError):
            gained = found.designed.gain(one.changed(STEP))
            if gained is not None:
                yield one, gained / STEP


def _hundredth(variation: Variation) -> float:
    """Of a limit, in its unit; thrusts are told per cent."""
    return 1.0 if variation.limit is None else 0.01 * abs(variation.limit)


def acting_limits(ascent: Ascent) -> tuple[Holder, ...]:
    """Limits that act on the flight of a payload that its tank or its motors hold."""
    slope = -ascent.partials["payload"].margin
    found = []
    for one in variations(Case(ascent.vehicle, ascent.mission)):
        margin = next((row.margin for row in ascent.partials if row.quantity == one.quantity), 0.0)
        payload = margin / slope
        if one.limit is None or abs(payload * one.limit) < ACTS * ascent.vehicle.payload_mass:
            continue
        what = f"the {one.quantity}"
        found.append(Holder(kind=HeldBy.LIMIT, what=what, unit=one.unit, payload=payload))
    return tuple(found)
