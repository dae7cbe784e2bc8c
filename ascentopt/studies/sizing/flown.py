"""A design with its optimal flight, and what one unit more of each unknown leaves in the tank."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.collocation import Envelope
from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.best_refined import best_refined
from ascentopt.optimal.solve.from_neighbour import solve_from_neighbour
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.structure.limits_in_turn import limits_imposed_in_turn
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.typing import Floats

STEP = 1e-5
"""Share of an unknown by which it is changed for its slope: the Lagrangian is smooth, so this
leaves an error of such a share of the slope, and rounding less."""


@dataclass(frozen=True, kw_only=True, eq=False)
class FlownDesign:
    """A design that was flown with a tank that may be overdrawn.

    Attributes:
        values: (n,) of the unknowns.
        attempt: the flight, with the relaxed tank.
        margin: kg left beyond the reserve in what was lit; below zero where more was burned than
            there is.
        slopes: (n,) kg of margin for one unit more of each unknown, the flight optimal again.
        payload_slope: kg of margin for one kg more of payload.
    """

    values: Floats
    attempt: Attempt
    margin: float
    slopes: Floats
    payload_slope: float


def flown_from(
    design: DesignSpace, task: Task, values: Floats, near: Attempt
) -> FlownDesign | None:
    """The design with these values, flown on from a neighbour's flight; None where that leads away.

    Raises:
        TimeIsUp: when no time is left.
    """
    try:
        vehicle = design.vehicle_at(values)
        roomy = with_relaxed_tank(replace(task, vehicle=vehicle))
        if roomy.arcs_of(near.plan).names != near.sequence.names:
            return None
        attempts = [solve_from_neighbour(roomy, near)]
        for stepped in limits_imposed_in_turn(roomy, attempts):
            attempts = stepped
    except InputError:  # no vehicle, or none with these arcs
        return None
    best = attempts[0]
    return told(design, roomy, values, best) if best.flies else None


def refined(design: DesignSpace, task: Task, flown: FlownDesign) -> FlownDesign | None:
    """The same design on meshes that are fine enough for its flight; None where that fails.

    Raises:
        TimeIsUp: when no time is left.
    """
    vehicle = design.vehicle_at(flown.values)
    roomy = with_relaxed_tank(replace(task, vehicle=vehicle))
    try:
        best, _ = best_refined(roomy, [flown.attempt])
    except InfeasibleAscent:
        return None
    return told(design, roomy, flown.values, best)


def told(design: DesignSpace, roomy: Task, values: Floats, attempt: Attempt) -> FlownDesign | None:
    """What an attempt says of a design; None where it has no slopes.

    Args:
        design: the vehicles.
        roomy: with the tank that the attempt was solved with.
        values: (n,) of the unknowns.
        attempt: of the design's vehicle.
    """
    own = roomy.own_vehicle or roomy.vehicle
    slopes = _Slopes(design, roomy, attempt, Envelope.of(attempt.found))
    each = [slopes.by_value(values, k) for k in range(len(values))]
    payload = slopes.by_payload(own)
    known = [slope for slope in each if slope is not None]
    if len(known) < len(each) or payload is None:
        return None
    left = _left(own, roomy.mission, attempt.plan, attempt.cut_off_mass)
    return FlownDesign(
        values=values,
        attempt=attempt,
        margin=left,
        slopes=np.array(known),
        payload_slope=payload,
    )


def unlit_propellant(vehicle: Vehicle, plan: FlightPlan) -> float:
    """Kg in stages that are never lit: no flight of the plan can burn them."""
    unlit = vehicle.stages[plan.inserting_stage + 1 :] if plan.unlit else ()
    return sum(stage.propellant_mass for stage in unlit)


def _left(vehicle: Vehicle, mission: Mission, plan: FlightPlan, mass: float) -> float:
    left = sequence_of(vehicle, mission, plan).propellant_left(mass)
    return left - unlit_propellant(vehicle, plan)


@dataclass(frozen=True, eq=False)
class _Slopes:
    design: DesignSpace
    task: Task
    attempt: Attempt
    envelope: Envelope

    def by_value(self, values: Floats, k: int) -> float | None:
        """Of the margin by an unknown: forward where there is such a vehicle, else backward."""
        size = STEP * max(abs(values[k]), STEP * self.design.upper[k])
        for step in (size, -size):
            moved = values.copy()
            moved[k] += step
            try:
                gained = self._gained(self.design.vehicle_at(moved))
            except InputError:
                continue
            if gained is not None:
                return float(gained / step)
        return None

    def by_payload(self, vehicle: Vehicle) -> float | None:
        """Of the margin by the payload, in kg per kg."""
        step = STEP * vehicle.lift_off_mass
        gained = self._gained(replace(vehicle, payload_mass=vehicle.payload_mass + step))
        return None if gained is None else gained / step

    def _gained(self, vehicle: Vehicle) -> float | None:
        """Kg more that are left by another vehicle; None where it flies other arcs."""
        plan, mission, found = self.attempt.plan, self.task.mission, self.attempt.found
        own = self.task.own_vehicle or self.task.vehicle
        changed = self._relaxed_alike(vehicle)
        sequence = sequence_of(changed, mission, plan)
        if sequence.names != self.attempt.sequence.names:
            return None
        written = self.attempt.transcription_of(changed, mission, sequence, found)
        problem = replace(
            written.greatest_mass_problem(), parameter_values=found.problem.parameter_values
        )
        gained = self.envelope.change(problem)
        if gained is None:
            return None
        kept = [_left(one, mission, plan, 0.0) for one in (vehicle, own)]
        return gained + kept[0] - kept[1]

    def _relaxed_alike(self, vehicle: Vehicle) -> Vehicle:
        """With a tank as deep as the attempt's, as far as the vehicle's own lets it be."""
        if self.task.own_vehicle is None:
            return vehicle
        return with_relaxed_tank(replace(self.task, vehicle=vehicle, own_vehicle=None)).vehicle
