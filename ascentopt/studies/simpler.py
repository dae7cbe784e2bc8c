"""Pitch programmes that a person can fly, and what they cost."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.flight.guidance import SteeringLaw
from ascentopt.flight.simulate import Flight


@dataclass(frozen=True, kw_only=True)
class SimplerProgramme:
    """A pitch programme with few knots.

    Args:
        law: what is flown.
        knots: pairs of the abscissa (s since lift-off, or m of altitude) and the pitch in rad above
            the local horizontal.
        against: "time" or "altitude", for people.
        flight: into the orbit, by the independent simulator.
        propellant_used: kg.
        penalty: kg beyond the optimum's propellant.
    """

    law: SteeringLaw
    knots: tuple[tuple[float, float], ...]
    against: str
    flight: Flight
    propellant_used: float
    penalty: float

    __hash__ = None  # type: ignore[assignment]
