"""From a light vehicle's flight to the heaviest one's, with the same burns and coasts.

What a flight has to spare in m/s is turned into payload by the rocket equation. Losses change with
the payload as well: how much of the ideal delta-v given up the last step really cost tells the
next one, which soon leaves next to nothing. Each flight begins as the last one, with its
multipliers. Where a step is too long a tank that may be overdrawn tells by how much.
"""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass, replace
from math import log

from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.unburned import (
    ideal_delta_v_within,
    least_mass_alight,
    payload_of_most_delta_v,
)
from ascentopt.optimal.solve.impose_limits import impose_limits_directly
from ascentopt.optimal.solve.neighbour import solve_from_neighbour
from ascentopt.optimal.solve.relaxed_tank import (
    can_relax_tank,
    exhaust_speed,
    remaining_delta_v,
    with_relaxed_tank,
)
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.structure.search import search_by_moves
from ascentopt.optimal.task import WARM_ITERATIONS, Task
from ascentopt.rocket import Vehicle

STEPS, STRIDE = 12, 0.95
"""Most steps up, and the share of what is to spare that the first one takes: losses change by less.
One that leads nowhere is halved: from half the payload, seven times to be as `CLOSE` as needed."""

TO_SPARE = 5.0
"""m/s that the payload named has left: first meshes have been wrong by up to 4 m/s."""

AIM = 0.5 * TO_SPARE
"""m/s that a step is to leave."""

CLOSE = 0.01
"""Share of the payload from one that leads nowhere at which a structure is at its end: a payload
named is right by so much."""

WORTH_A_MOVE = 1e-3
"""Share of the payload that a move must gain to first order, over its first seconds: a coast that
pays gains tens of times that, and the payload named is to be within 1 per cent."""

AMPLE, SPARE = 1.2, 50.0
"""Times the speed that seems to be missing, and m/s beside it, that what is begun from gains: what
seems to be missing may be too little, and where much is left the first flight is found at once."""

LEAST_SLOPE = 0.1
"""m/s left less for one of ideal delta-v less, at least: losses do not make up for more."""


@dataclass(frozen=True, eq=False)
class Rung:
    """A payload's flight; ``left`` is what it has to spare in m/s, negative where it overdraws."""

    vehicle: Vehicle
    attempt: Attempt
    left: float

    @property
    def payload(self) -> float:
        """In kg."""
        return self.vehicle.payload_mass

    @property
    def is_next_to_empty(self) -> bool:
        """Whether it has what it is to have to spare, and hardly more."""
        return 0.0 <= self.left < TO_SPARE


class Tank(ABC):
    """How much the last stage may burn on the way."""

    @abstractmethod
    def rung(self, task: Task, flight: Attempt) -> Rung | None:
        """The flight of the solver's vehicle, from that of another; None where it is unsolved."""

    @staticmethod
    def _within_limits(task: Task, flight: Attempt) -> Attempt | None:
        brief = task.settings.given_up_after(WARM_ITERATIONS)
        begun = replace(flight, history=())
        resumed = StructureSolver.resumed(replace(task, settings=brief), begun)
        found = resumed.solve_with_multipliers_of(flight)
        kept = None if found is None else impose_limits_directly(task, found)
        return kept if kept is not None and kept.keeps_limits else None


class OwnTank(Tank):
    """What it holds."""

    def rung(self, task: Task, flight: Attempt) -> Rung | None:
        """With its multipliers; where there is patience without them, too."""
        found = self._within_limits(task, flight)
        if found is None and not task.hasty:
            near = solve_from_neighbour(task, flight)
            kept = impose_limits_directly(task, near) if near.reached else near
            found = kept if kept.flies else None
        if found is None:
            return None
        return Rung(task.vehicle, found, delta_v_left(task.vehicle, found, task.acceleration_limit))


class RelaxedTank(Tank):
    """More than it holds: no step is too long, and one that goes too far says by how much."""

    def rung(self, task: Task, flight: Attempt) -> Rung | None:
        """Its tank may be overdrawn."""
        found = self._within_limits(with_relaxed_tank(task), flight)
        return None if found is None else self.told(task, found)

    @staticmethod
    def told(task: Task, found: Attempt) -> Rung:
        """A flight of the vehicle with the relaxed tank, by what its own one holds."""
        sequence = task.arcs_of(found.plan)
        held = _held_back(task.vehicle, sequence.arcs[-1], task.acceleration_limit)
        left = remaining_delta_v(task.vehicle, sequence, found.final_mass) - held
        return Rung(task.vehicle, found, left)


def climb(task: Task, vehicle: Vehicle, flight: Attempt) -> tuple[Vehicle, Attempt] | None:
    """The heaviest vehicle and its flight within the limits, up to the payload asked."""
    if can_relax_tank(task.vehicle) and not flight.plan.unlit:
        low = RelaxedTank.told(replace(task, vehicle=vehicle), flight)
        found = _heaviest_by_relaxed_tank(task, low)
    else:
        low = Rung(vehicle, flight, delta_v_left(vehicle, flight, task.acceleration_limit))
        found = _next_to_empty(task, low, OwnTank())
    return None if found is None else (found.vehicle, found.attempt)


def _heaviest_by_relaxed_tank(task: Task, low: Rung) -> Rung | None:
    """With its own tank, from one that was overdrawn on the way; None where that leads nowhere.

    Which structure is best changes with the payload, so moves are tried here, where it matters.
    """
    tank = RelaxedTank()
    high = _next_to_empty(task, low, tank)
    if high.left < 0.0:
        return None
    there = replace(task, vehicle=high.vehicle)
    worth = WORTH_A_MOVE * high.payload
    moved = search_by_moves(with_relaxed_tank(there), high.attempt, worth=worth).best
    if moved is not high.attempt:
        high = _next_to_empty(task, tank.told(there, moved), tank)
    return OwnTank().rung(replace(task, vehicle=high.vehicle), high.attempt)


def _next_to_empty(task: Task, first: Rung, tank: Tank) -> Rung:
    """The flight of the payload that leaves next to nothing, or of the one asked.

    By secants over the ideal delta-v: the first step by the rocket equation alone. One that
    leads nowhere is halved: from nearer by it may be led to.
    """
    here, slope, stride = first, 1.0 / STRIDE, 1.0
    for _ in range(STEPS):
        payload = _payload_to_try(task, here, stride * (here.left - AIM) / slope)
        close = stride < 1.0 and abs(payload - here.payload) <= CLOSE * here.payload
        if here.is_next_to_empty or payload == here.payload or close:
            break
        heavier = replace(task.vehicle, payload_mass=payload)
        found = tank.rung(replace(task, vehicle=heavier), here.attempt)
        if found is None:
            stride *= 0.5
            continue
        kept, limit = here.attempt.sequence.reserve, task.acceleration_limit
        spent = ideal_delta_v(here.vehicle, kept, limit) - ideal_delta_v(heavier, kept, limit)
        slope, stride = max((here.left - found.left) / spent, LEAST_SLOPE), 1.0
        here = found
        task.watch.finishes(f"{here.payload:.6g} kg of payload: {here.left:.1f} m/s to spare")
    return here


def _payload_to_try(task: Task, here: Rung, given_up: float) -> float:
    """Payload in kg with so much less ideal delta-v, m/s, than a rung's; no more than is asked."""
    asked = task.vehicle.payload_mass
    kept = here.attempt.sequence.reserve
    payload = payload_with(here.vehicle, -given_up, kept, task.acceleration_limit)
    if payload is None:
        return asked if given_up > 0.0 else here.payload
    return min(payload, asked)


def delta_v_left(vehicle: Vehicle, flight: Attempt, limit: float | None) -> float:
    """Speed in m/s that the stage which is cut off has left, beyond the reserve.

    And beyond what the limit on acceleration, m/s^2, never lets it burn.
    """
    arc = flight.sequence.arcs[flight.sequence.cut_off]
    left = exhaust_speed(vehicle, arc.stage) * log(flight.cut_off_mass / arc.least_mass)
    return left - _held_back(vehicle, arc, limit)


def _held_back(vehicle: Vehicle, arc: FlightArc, limit: float | None) -> float:
    """Speed in m/s of what the limit on acceleration leaves in the tank of an arc's stage."""
    beyond = least_mass_alight(vehicle, arc.stage, limit) / arc.least_mass
    return exhaust_speed(vehicle, arc.stage) * log(max(beyond, 1.0))


def ideal_delta_v(vehicle: Vehicle, kept: float, limit: float | None) -> float:
    """Ideal delta-v in m/s with so many kg of the last stage's propellant as dead weight.

    Within a limit on acceleration, m/s^2.
    """
    if kept <= 0.0:
        return ideal_delta_v_within(vehicle, limit)
    *below, last = vehicle.stages
    dry, burned = last.dry_mass + kept, last.propellant_mass - kept
    stages = (*below, replace(last, dry_mass=dry, propellant_mass=burned))
    return ideal_delta_v_within(replace(vehicle, stages=stages), limit)


def payload_with(vehicle: Vehicle, gain: float, kept: float, limit: float | None) -> float | None:
    """Payload in kg with which the ideal delta-v is ``gain`` m/s more; None where there is none.

    The heavier one of two, where with less of it more propellant stays unburned.
    """
    from scipy.optimize import brentq

    wanted = ideal_delta_v(vehicle, kept, limit) + gain

    def beyond(payload: float) -> float:
        return ideal_delta_v(replace(vehicle, payload_mass=payload), kept, limit) - wanted

    least, most = payload_of_most_delta_v(vehicle, limit), 10.0 * vehicle.lift_off_mass
    if beyond(least) <= 0.0 or beyond(most) >= 0.0:
        return None
    return float(brentq(beyond, least, most))
