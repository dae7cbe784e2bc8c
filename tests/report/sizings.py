"""Sizings to draw: of a flight that was flown, with numbers at will."""

from __future__ import annotations

from dataclasses import replace
from math import nan

import ascentopt as ao
from tests.report.flights import optimum


def number(
    stage: str, unit: str, value: float, exchange: float, **changed: float
) -> ao.SizedNumber:
    """Between half and twice what it is, unless the changes say otherwise."""
    what = "propellant" if unit == "kg" else "vacuum thrust"
    cost = changed.pop("cost", 1.06 if unit == "kg" else 1e-3)
    numbers = {"least": 0.5 * value, "most": 2.0 * value, "price": 0.0, **changed}
    return ao.SizedNumber(
        quantity=f"{stage}: {what}", unit=unit, given=0.8 * value, value=value,
        payload=exchange * cost, cost=cost, **numbers,
    )  # fmt: skip


def sizing(*, held: bool = False, priced: bool = True) -> ao.Sizing:
    """Of the launcher that reports fly; one number at its bound, or none with a cost."""
    ascent, exchange = optimum(), 0.0412
    numbers: list[ao.SizedNumber] = []
    for stage in ascent.vehicle.stages:
        load, thrust = stage.propellant_mass, stage.engine.mean_thrust
        numbers += [
            number(stage.name, "kg", load, exchange),
            number(stage.name, "N", thrust, exchange),
        ]
    if held:
        one = numbers[0]
        numbers[0] = replace(one, least=one.value, payload=0.3 * one.payload, price=0.74)
    if not priced:
        numbers = [replace(one, cost=0.0) for one in numbers[1::2]]
    first, *others = ascent.vehicle.stages
    lighter = replace(first, propellant_mass=0.8 * first.propellant_mass)
    objective = ao.LeastLiftOffMass() if priced else ao.GreatestPayload()
    return ao.Sizing(
        given=replace(ascent.vehicle, stages=[lighter, *others]),
        objective=objective,
        laws=(),
        numbers=tuple(numbers),
        value=ascent.vehicle.lift_off_mass if priced else ascent.vehicle.payload_mass,
        exchange=exchange if priced else nan,
        objective_slope=1.0 + 1.0 / exchange if priced else nan,
        kept=0.1,
        ascent=ascent,
        settled=priced,
    )
