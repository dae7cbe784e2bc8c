"""The greatest payload that reaches the orbit within the limits, climbed to from a lighter one.

Where nothing is found for the payload asked, a lighter vehicle's flight is, and what it has to
spare is turned into payload by the rocket equation, a few times, each flight begun from the last
one. If that comes to what was asked, the vehicle flies after all. Otherwise what is missing is told
by the rocket equation as well: so much more ideal delta-v the vehicle has with the greatest
payload. That hangs on no local optimum of the missing speed, and grows with the payload asked.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.deadline import TimeIsUp
from ascentopt.optimal.solve.ladder import REACHED_EXACTLY
from ascentopt.optimal.solve.mission_solver import MissionSolver
from ascentopt.optimal.solve.relaxed_tank import exhaust_speed
from ascentopt.optimal.structure.enumeration import structures_without_load_limits
from ascentopt.optimal.structure.imposed_limits import impose_limits_on_all
from ascentopt.optimal.structure.search import search_by_moves
from ascentopt.rocket import Vehicle

AMPLE, SPARE = 1.2, 50.0
"""Times the speed that seems to be missing, and m/s beside it, that the lighter payload gains: what
seems to be missing may be too little, and where much is left the first flight is found at once."""

FAR = 0.02
"""Share of the payload asked that the lightest one keeps: with none at all the last stage of a
small vehicle may have nothing to push."""

STEPS, STRIDE = 6, 0.95
"""Most steps up, and the share of what is to spare that one takes: losses change by less."""

TO_SPARE = 5.0
"""m/s that the payload named has left: first meshes have been wrong by up to 4 m/s."""


@dataclass(frozen=True, eq=False)
class HeaviestFlight:
    """The flight with the greatest payload.

    Attributes:
        vehicle: the heaviest that was flown; attempt: its flight, with next to nothing to spare.
        payload: kg with which `TO_SPARE` are left, by the rocket equation from there.
        shortfall: m/s that are missing for the payload asked.
    """

    vehicle: Vehicle
    attempt: Attempt
    payload: float
    shortfall: float


def heaviest_flight(
    solver: MissionSolver, attempts: list[Attempt]
) -> HeaviestFlight | Attempt | None:
    """The greatest payload below the one asked, or an attempt that flies what was asked.

    None where not even a light payload is seen to fly.
    """
    try:
        light = _light_flight(solver, attempts)
        if light is None:
            return None
        if light[1].sequence.ballasted:
            return _with_ballast_for_payload(solver, *light)
        vehicle, flight = _with_payload_raised(solver, *light)
    except TimeIsUp:
        return None
    if vehicle.payload_mass == solver.vehicle.payload_mass:
        return flight
    left, kept = _remaining_delta_v(vehicle, flight), flight.sequence.reserve
    missing = _ideal_delta_v(vehicle, kept) - left - _ideal_delta_v(solver.vehicle, kept)
    named = _payload_with(vehicle, TO_SPARE - left, kept)
    payload = vehicle.payload_mass if named is None else named
    return HeaviestFlight(vehicle, flight, payload, missing) if missing > REACHED_EXACTLY else None


def _with_ballast_for_payload(
    solver: MissionSolver, vehicle: Vehicle, flight: Attempt
) -> HeaviestFlight | None:
    """Where no engine can be cut off, ballast and payload together are the greatest payload."""
    carried = vehicle.payload_mass + (flight.flown_plan.ballast or 0.0)
    most = replace(vehicle, payload_mass=carried)
    missing = most.ideal_delta_v - solver.vehicle.ideal_delta_v
    return HeaviestFlight(vehicle, flight, carried, missing) if missing > REACHED_EXACTLY else None


def _light_flight(solver: MissionSolver, attempts: list[Attempt]) -> tuple[Vehicle, Attempt] | None:
    """A lighter vehicle and its best flight within the limits."""
    short = min((one.shortfall for one in attempts if one.shortfall), default=None)
    asked, least = solver.vehicle, FAR * solver.vehicle.payload_mass
    near = least if short is None else _payload_with(asked, AMPLE * short + SPARE) or least
    for payload in sorted({least, near}, reverse=True):
        light = replace(solver, vehicle=replace(asked, payload_mass=payload))
        found = list(structures_without_load_limits(light, [], len(asked.stages) - 1))
        best = impose_limits_on_all(light, found)[0]
        if best.reached and best.keeps_limits:
            return light.vehicle, search_by_moves(light, best).best
    return None


def _with_payload_raised(
    solver: MissionSolver, vehicle: Vehicle, flight: Attempt
) -> tuple[Vehicle, Attempt]:
    """The heaviest vehicle and its flight, up to the payload asked."""
    stride = STRIDE
    for _ in range(STEPS):
        left = _remaining_delta_v(vehicle, flight)
        if left < TO_SPARE or vehicle.payload_mass == solver.vehicle.payload_mass:
            break
        payload = _payload_with(vehicle, -stride * left, flight.sequence.reserve)
        asked = solver.vehicle.payload_mass
        heavier = replace(vehicle, payload_mass=asked if payload is None else min(payload, asked))
        found = _neighbour(replace(solver, vehicle=heavier), flight)
        if found is None:
            stride *= 0.5
        else:
            vehicle, flight = heavier, found
    return vehicle, flight


def _neighbour(solver: MissionSolver, flight: Attempt) -> Attempt | None:
    """The flight of another payload from one that is near; None where it is none."""
    found = solver.solve_from_neighbour(flight)
    kept = solver.impose_limits_directly(found) if found.reached else found
    return kept if kept.reached and kept.keeps_limits else None


def _remaining_delta_v(vehicle: Vehicle, flight: Attempt) -> float:
    """Speed in m/s that the stage which is cut off has left, beyond the reserve."""
    arc = flight.sequence.arcs[flight.sequence.cut_off]
    return exhaust_speed(vehicle, arc.stage) * log(flight.cut_off_mass / arc.least_mass)


def _ideal_delta_v(vehicle: Vehicle, kept: float) -> float:
    """Ideal delta-v in m/s with so many kg of the last stage's propellant as dead weight."""
    if kept <= 0.0:
        return vehicle.ideal_delta_v
    *below, last = vehicle.stages
    dry, burned = last.dry_mass + kept, last.propellant_mass - kept
    stages = (*below, replace(last, dry_mass=dry, propellant_mass=burned))
    return replace(vehicle, stages=stages).ideal_delta_v


def _payload_with(vehicle: Vehicle, gain: float, kept: float = 0.0) -> float | None:
    """Payload in kg with which the ideal delta-v is ``gain`` m/s more; None where there is none."""
    from scipy.optimize import brentq

    wanted = _ideal_delta_v(vehicle, kept) + gain

    def beyond(payload: float) -> float:
        return _ideal_delta_v(replace(vehicle, payload_mass=payload), kept) - wanted

    most = 10.0 * vehicle.lift_off_mass
    if beyond(0.0) <= 0.0 or beyond(most) >= 0.0:
        return None
    return float(brentq(beyond, 0.0, most))
