"""Stages that may insert into the orbit, and in which order they are best solved for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.errors import InputError
from ascentopt.flight.phases.reserve import reserve_of
from ascentopt.flight.plan import direct
from ascentopt.mission import Mission
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.rocket import Vehicle

LOSSES = 1.15
"""Times the impulses of an ascent through air: with less a stage seldom reaches the orbit (in 300
cases never; with 1.21 times it did, and without air with 1.07)."""


def inserting_stages(vehicle: Vehicle, mission: Mission) -> Iterator[int]:
    """Stages that may reach the orbit, the lowest first.

    An earlier one than the last is offered where its ideal delta-v, with those above it carried
    along, is no less than what any ascent needs. Reaching the orbit with propellant left it uses
    less than every later stage does: those burn, or drop, all that it has. (Only a solid motor
    right above it may save more.)
    """
    last, needed = len(vehicle.stages) - 1, impulsive_bound(mission)
    for index in range(last):
        if delta_v_carrying_upper_stages(vehicle, index) >= needed and _can_insert(
            vehicle, mission, index
        ):
            yield index
    yield last


def inserting_stages_in_turn(vehicle: Vehicle, mission: Mission) -> list[int]:
    """Stages that may reach the orbit in the order in which they are best solved for.

    One that has hardly more than the impulses take comes last where there is air: what an ascent by
    the last stage uses mostly tells that it has not enough.
    """
    stages = list(inserting_stages(vehicle, mission))
    if mission.body.atmosphere is None:
        return stages
    losing = LOSSES * impulsive_bound(mission)
    return sorted(
        stages,
        key=lambda one: one != stages[-1] and delta_v_carrying_upper_stages(vehicle, one) < losing,
    )


def delta_v_carrying_upper_stages(vehicle: Vehicle, stage: int) -> float:
    """Ideal delta-v, m/s, up to a stage that carries those above it, without a fairing."""
    return replace(vehicle.with_payload_above(stage), fairing=None).ideal_delta_v


def _can_insert(vehicle: Vehicle, mission: Mission, index: int) -> bool:
    """Whether a stage can be cut off at the orbit, or needs no cut-off, and keep the reserve.

    Ballast does instead of a cut-off where there are none but solid motors: who has an engine
    further up loads none.
    """
    plan = direct(vehicle, index)
    cut_off = plan.cut_off_stage(vehicle)
    no_engine = cut_off is None and direct(vehicle).cut_off_stage(vehicle) is None
    if cut_off != index and not no_engine:
        return False
    try:
        reserve_of(vehicle, mission, plan)
    except InputError:  # where it stands for the last stage as well, it is raised there
        return False
    return True
