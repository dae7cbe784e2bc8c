"""By how much the limits on loads must be raised before a vehicle flies, and what raises them."""

from __future__ import annotations

from collections.abc import Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from math import sin

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import FlightLimits
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.payload.strain import strain_taken_off
from ascentopt.optimal.perturbations import STEP, Case, Variation, variations
from ascentopt.optimal.problem.elastic_limits import ElasticSolution
from ascentopt.optimal.problem.violations import DENSE
from ascentopt.optimal.result.closed_loop import trajectory_of
from ascentopt.optimal.task import Task
from ascentopt.tables import in_a_line
from ascentopt.units import deg, km

NOTHING = 0.01
"""A limit whose doubling would lower the common factor by less than this does not act."""

SLIGHT = 1e-3
"""Share of the violation that a per cent of thrust takes off if it is worth a word."""

SIDEWAYS = 90.0
"""deg of an angle of attack beyond which a number says no more: it flies backwards."""

LOADS = tuple(f"limit on {name}" for name in ("dynamic pressure", "q alpha", "angle of attack"))
"""Limits that are raised, as `variations` calls them."""


@dataclass(frozen=True, kw_only=True)
class ActiveLimit:
    """A limit that acts on the flight with the least violation.

    ``allowed`` is what it is, in its unit; ``gain`` the share by which the loads exceed their
    limits less for one unit more of it.
    """

    limit: str
    unit: str
    allowed: float
    gain: float

    __repr__ = in_a_line

    def raised(self, factor: float) -> str:
        """What it must be raised to, in words."""
        name = self.limit.removeprefix("limit on ")
        if self.unit == "deg" and factor * self.allowed > SIDEWAYS:
            return f"{name} more than sideways (limit {self.allowed:.4g} deg)"
        return f"{name} {factor * self.allowed:.4g} {self.unit} (limit {self.allowed:.4g})"

    def __str__(self) -> str:
        return f"{self.limit}: {100.0 * self.gain:.2g} % per {self.unit}"


@dataclass(frozen=True, kw_only=True)
class ViolationPartial:
    """A number of the vehicle that the least violation depends on.

    ``gain`` is the share by which the loads exceed their limits less for one unit more of it;
    negative where less of it helps.
    """

    quantity: str
    unit: str
    gain: float

    __repr__ = in_a_line

    def __str__(self) -> str:
        way = "more" if self.gain > 0.0 else "less"
        return f"1 {self.unit} {way} of {self.quantity}: {100.0 * abs(self.gain):.2g} %"


@dataclass(frozen=True, kw_only=True, eq=False)
class LeastViolation:
    """Of the flight that violates the limits on loads least, all multiplied by one factor.

    Args:
        factor: that one.
        active_limits: the limits that act on it, the most helpful first.
        wherever_it_ends: whether every flight violates them so, wherever it ends; otherwise those
            that reach the orbit.
        trajectory: of the flight that violates them least, to the orbit where one goes there, flown
            independently from a solution on the first mesh: q alpha may peak higher between nodes.
        excess_speed: m/s by which it would have to be slower through the air, where it is worst, to
            keep them at the same height and attitude.
        altitude: m, where that is.
        payload: what a kilogram of it does.
        feasible_payload: kg with which it flies to the orbit within them; None where a quick search
            finds none.
        turn_rate_limited: whether the direction turns by `MAX_TURN_RATE` at most, since it would
            jump.
        thrusts: what the thrust of each motor does, those that help most first.
    """

    factor: float
    active_limits: tuple[ActiveLimit, ...]
    wherever_it_ends: bool
    trajectory: Trajectory
    excess_speed: float
    altitude: float
    payload: ViolationPartial
    thrusts: tuple[ViolationPartial, ...]
    feasible_payload: float | None = None
    turn_rate_limited: bool = False

    __repr__ = in_a_line

    def __str__(self) -> str:
        turning = f" that turns by {MAX_TURN_RATE / deg:g} deg/s at most"
        turning = turning if self.turn_rate_limited else ""
        what = f"Every flight{turning}, wherever it ends,"
        if not self.wherever_it_ends:
            what = f"A flight to the orbit{turning}"
        acting = [one for one in self.active_limits if one.limit in LOADS]
        loads = ", ".join(one.raised(self.factor) for one in acting)
        gains = "; ".join(map(str, (*self.active_limits, *self.thrusts)))
        beyond = 100.0 * (self.factor - 1.0)
        return (
            f"{what} goes beyond the limits by about {beyond:.3g} % at least: {loads}; at "
            f"{self.altitude / km:.1f} km it is {self.excess_speed:.1f} m/s too fast through the "
            f"air. Relaxing one takes off {gains}. {self._on_payload}"
        )

    @property
    def _on_payload(self) -> str:
        gain = self.payload.gain
        way = "more" if gain > 0.0 else "less"
        says = f"1 kg {way} of payload takes off {100.0 * abs(gain):.2g} %"
        if abs(gain) < SLIGHT * SLIGHT * (self.factor - 1.0):
            says = "The payload hardly matters"
        if self.feasible_payload is None:
            return f"{says}, but a quick search found none that flies within them."
        return f"{says}: it flies within them with {self.feasible_payload:.5g} kg."


def least_violation_of(
    task: Task, attempt: Attempt, feasible: float | None = None
) -> LeastViolation | None:
    """What the flight of an attempt with the least violation says; None where there is none.

    ``feasible`` is the payload in kg that is known to fly within the limits.
    """
    case = task.case
    eased = attempt.least_strained
    if eased is None:
        return None
    to_the_orbit = attempt.least_violation or eased
    gains = list(_gains(case, attempt, eased))
    flown = trajectory_of(case, replace(attempt, solution=to_the_orbit.solution))
    active = sorted(_active_limits(gains), key=lambda one: -one.gain)
    acting = _active_load_limits(case.mission.limits, [one.limit for one in active])
    excess_speed, altitude = _excess_speed(flown, acting, eased.factor)
    payload = next(_partial(*one) for one in gains if one[0].quantity == "payload")
    return LeastViolation(
        factor=eased.factor,
        active_limits=tuple(active),
        wherever_it_ends=attempt.least_violation_anywhere is not None,
        trajectory=flown,
        excess_speed=excess_speed,
        altitude=altitude,
        payload=payload,
        feasible_payload=feasible,
        turn_rate_limited=bool(attempt.plan.turning_arcs),
        thrusts=tuple(sorted(_thrusts(gains, eased.factor), key=lambda one: one.gain)),
    )


Gain = tuple[Variation, float]
"""A number, and by what share the loads exceed their limits less for one unit more of it."""


def _gains(case: Case, attempt: Attempt, eased: ElasticSolution) -> Iterator[Gain]:
    for variation in variations(case):
        if variation.limit is None and not _is_worth_a_word(variation.quantity):
            continue
        with suppress(InputError):
            taken_off = strain_taken_off(attempt, eased, variation.changed(STEP))
            if taken_off is not None:
                yield variation, eased.factor * taken_off / STEP


def _is_worth_a_word(quantity: str) -> bool:
    """Whether a word is said about a number that is no limit."""
    return quantity == "payload" or ": thrust" in quantity


def _active_limits(gains: list[Gain]) -> Iterator[ActiveLimit]:
    for one, gain in gains:
        if one.limit is not None and gain * one.limit > NOTHING:
            yield ActiveLimit(limit=one.quantity, unit=one.unit, allowed=one.limit, gain=gain)


def _active_load_limits(limits: FlightLimits, active: list[str]) -> FlightLimits:
    """The limits on loads that act; all of them where none is seen to."""
    names = {load: load.removeprefix("limit on ").replace(" ", "_") for load in LOADS}
    idle = {name: None for load, name in names.items() if load not in active}
    return replace(limits, **idle) if len(idle) < len(names) else limits


def _thrusts(gains: list[Gain], factor: float) -> Iterator[ViolationPartial]:
    for one, gain in gains:
        if ": thrust" in one.quantity and -gain > SLIGHT * (factor - 1.0):
            yield _partial(one, gain)


def _partial(variation: Variation, gain: float) -> ViolationPartial:
    return ViolationPartial(quantity=variation.quantity, unit=variation.unit, gain=gain)


def _excess_speed(flown: Trajectory, allowed: FlightLimits, factor: float) -> tuple[float, float]:
    """How much too fast through the air the flight is where it is worst, m/s, and the altitude, m.

    Dynamic pressure, and what it does at an angle of attack, grow with the square of the speed; an
    angle itself is too wide by a speed across the axis. It is worst where what is limited peaks.
    """
    slower = 1.0 - factor**-0.5
    if allowed.dynamic_pressure is not None:
        load, share = flown.dynamic_pressure, slower
    elif allowed.q_alpha is not None:
        load, share = flown.q_alpha, slower
    else:
        attack = np.where(flown.dynamic_pressure > DENSE, flown.angle_of_attack, 0.0)
        load, share = attack, sin((factor - 1.0) * (allowed.angle_of_attack or 0.0))
    worst = int(np.nanargmax(load))
    return share * float(flown.air_speed[worst]), float(flown.altitude[worst])
