"""What is known where an engine is cut off because the apoapsis has reached the orbit."""

from __future__ import annotations

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.rules.insertion.refusals import BeyondOrbit, CoastTooShort, TooFlat
from ascentopt.units import km
from ascentopt.world.orbital_elements import (
    apoapsis_radius,
    periapsis_radius,
    time_to_next_apoapsis,
)

_CLEAR = 1.0  # km above the ellipsoid; compiled flights see the ground at the ends of steps only
_GRAZES = f"its coast would pass the ground at less than {_CLEAR:.0f} km"
_SUNK = 3e-3
"""Of the radius, by which an apoapsis may be too high for a first guess: a coast that begins in the
air lowers it by some kilometres, and the search knows the edge."""

_NO_COAST = "there is no time to coast: the burn would have to begin before cut-off"


def refuse_beyond(mu: float, mark: Checkpoint, arc: FlightArc, radius: float) -> None:
    """Raise `BeyondOrbit` where the apoapsis is, as the arc that is to be cut off begins."""
    if apoapsis_radius(mu, mark.state[:3], mark.state[3:6]) > radius * (1.0 + _SUNK):
        raise BeyondOrbit(_beyond(arc))


def refuse_sinking(mu: float, cut: Checkpoint) -> float:
    """Seconds to the apoapsis. Raises `TooFlat` where it is behind."""
    left = time_to_next_apoapsis(mu, cut.state[:3], cut.state[3:6])
    if left < 0.0:
        raise TooFlat("the flight sinks again before its apoapsis reaches the orbit")
    return left


def apoapsis_margin(
    mu: float, mark: Checkpoint, arc: FlightArc, radius: float
) -> FeasibilityMargin:
    """For an apoapsis at cut-off as low as it is when the engine is lit."""
    already = apoapsis_radius(mu, mark.state[:3], mark.state[3:6])
    return FeasibilityMargin(
        left=(radius - already) / km,
        miss_per_unit=(-km, 0.0, 0.0),
        why=_beyond(arc),
        kind=BeyondOrbit,
    )


def coast_margin(mu: float, cut: Checkpoint, before: float) -> FeasibilityMargin:
    """For a burn that is to begin so many seconds before the apoapsis."""
    fall = 0.5 * mu / float(cut.state[:3] @ cut.state[:3])
    left = time_to_next_apoapsis(mu, cut.state[:3], cut.state[3:6])
    return FeasibilityMargin(
        left=left - before, miss_per_unit=(0.0, fall, 0.0), why=_NO_COAST, kind=CoastTooShort
    )


def ground_margin(flight: CompiledFlight, cut: Checkpoint) -> FeasibilityMargin:
    """For a coast that grazes the ground."""
    left = _lowest(flight, cut) / km - _CLEAR
    return FeasibilityMargin(left=left, miss_per_unit=(0.0, 0.0, 0.0), why=_GRAZES)


def tank_margin(arc: FlightArc, cut: Checkpoint) -> FeasibilityMargin:
    """For a stage whose tank is dropped or lit again: it may not burn more than it has."""
    flow = arc.parameters.mass_flow + arc.parameters.side_mass_flow
    return FeasibilityMargin(
        left=(cut.mass_before - arc.least_mass) / flow,
        miss_per_unit=(0.0, 0.0, 0.0),
        why=f"{stage_name(arc)!r} burns out before the apoapsis reaches the orbit",
        kind=TooFlat,
    )


def stage_name(arc: FlightArc) -> str:
    """The name of the stage that burns on an arc, without what it has dropped."""
    return arc.name.removesuffix(", bare")


def _beyond(arc: FlightArc) -> str:
    return f"the apoapsis is beyond the orbit before {stage_name(arc)!r} can be cut off"


def _lowest(flight: CompiledFlight, cut: Checkpoint) -> float:
    """Least altitude of a coast in m: at its begin or, where it sinks, at its periapsis."""
    position, velocity = cut.state[:3], cut.state[3:6]
    altitude = flight.surroundings.altitude(cut.state)
    if float(position @ velocity) >= 0.0:
        return altitude
    mu = flight.surroundings.body.gravitational_parameter
    return altitude - float(np.linalg.norm(position)) + periapsis_radius(mu, position, velocity)
