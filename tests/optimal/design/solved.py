"""Designs solved for from the optimum of a vehicle as it is."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import ascentopt as ao
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.solve import Designed, DesignSolver
from ascentopt.optimal.optimize import Effort, optimum, task_of


@lru_cache(maxsize=8)
def flight(vehicle: ao.Vehicle, mission: ao.Mission) -> Attempt:
    """The optimum's, on its last meshes."""
    return replace(optimum(vehicle, mission, Effort()).attempt, history=())


def designed(
    vehicle: ao.Vehicle,
    mission: ao.Mission,
    design: Design,
    *,
    kept: float = 0.0,
    begun: ao.Vehicle | None = None,
) -> Designed:
    """The best vehicle of a design, from its optimum as it is, or from that of another one."""
    start = flight(vehicle if begun is None else begun, mission)
    found = DesignSolver(task_of(vehicle, mission), design, kept).solved(start)
    assert found is not None
    return found


def resized(vehicle: ao.Vehicle, factor: float) -> ao.Vehicle:
    """Every mass and thrust times a factor; for engines that the air does nothing to."""
    stages = tuple(
        replace(
            one,
            propellant_mass=factor * one.propellant_mass,
            dry_mass=factor * one.dry_mass,
            engine=ao.Engine(
                vacuum_thrust=factor * one.engine.mean_thrust, vacuum_isp=one.engine.vacuum_isp
            ),
        )
        for one in vehicle.stages
    )
    return replace(vehicle, payload_mass=factor * vehicle.payload_mass, stages=stages)
