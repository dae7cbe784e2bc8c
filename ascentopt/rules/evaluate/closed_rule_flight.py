"""A rule's flight that ends in the orbit."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.compiled.load_log import LoadLog
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin, refusal
from ascentopt.rules.insertion.insertion import Arrival, Insertion, Unknowns
from ascentopt.steering.programme import Programme
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False, kw_only=True)
class ClosedRuleFlight:
    """A rule's flight that ends in the orbit.

    Attributes:
        values: of the rule's open numbers.
        insertion, arrival: by which plan it enters the orbit, and where.
        law: that was flown.
        unknowns: of the insertion, in its order.
        end: where it ends.
        propellant_used: kg; more than there is for a flight on credit.
        debt: kg that are missing; zero for a real flight.
        heading: rad from north, towards which it tips over.
        slope: of the miss with the unknowns, the heading one of them where the inclination is
            given; a flight near by begins with it.
        marks: on the pad, and at the ends of its arcs.
        log: of the loads.
        margins: what is left until its unknowns cannot be flown.
    """

    values: tuple[float, ...]
    insertion: Insertion
    arrival: Arrival
    law: Programme
    unknowns: Unknowns
    end: Checkpoint
    propellant_used: float
    debt: float
    heading: float
    slope: Floats
    marks: tuple[Checkpoint, ...]
    log: LoadLog
    margins: tuple[FeasibilityMargin, ...]

    @property
    def refusal(self) -> CompiledFlightError | None:
        """What it would have to do that cannot be flown; None for a real flight."""
        return refusal(self.margins)
