"""The numbers of a vehicle and a mission that have a partial, and how each of them changes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

from ascentopt.flight.results.limit_check import PAYLOAD_HEATING
from ascentopt.mission import Mission, Orbit
from ascentopt.mission.lift_off import hangs_on_its_instant
from ascentopt.mission.limits import SCALES
from ascentopt.rocket import Aerodynamics, BoosterGroup, Engine, Fairing, Stage, Vehicle
from ascentopt.rocket.engine import Propulsion
from ascentopt.units import deg, km

STEP = 1e-3
"""Units, or share of its own size, by which a number is changed to see what that is worth: the
Lagrangian is smooth, so this leaves an error near 1e-5 of the slope, and rounding less."""


@dataclass(frozen=True)
class Case:
    """What flies where; each method exchanges one thing."""

    vehicle: Vehicle
    mission: Mission

    def flown_by(self, vehicle: Vehicle) -> Case:
        """Another vehicle."""
        return replace(self, vehicle=vehicle)

    def on(self, mission: Mission) -> Case:
        """Another mission."""
        return replace(self, mission=mission)

    def with_part(self, old: Stage | BoosterGroup, new: Stage | BoosterGroup) -> Case:
        """Another stage or booster group in the place of one."""
        vehicle = self.vehicle
        if isinstance(new, Stage):
            stages = tuple(new if stage is old else stage for stage in vehicle.stages)
            return self.flown_by(replace(vehicle, stages=stages))
        boosters = tuple(new if group is old else group for group in vehicle.boosters)
        return self.flown_by(replace(vehicle, boosters=boosters))


@dataclass(frozen=True)
class Variation:
    """A number of a description that may change.

    Attributes:
        quantity: its name in the trade's words.
        unit: what its partial is quoted for.
        changed: the case with so many units more of it and every other field as it was. Raises
            `InputError` where the description refuses that.
        limit: how many units there are of what is a limit; None for all else.
    """

    quantity: str
    unit: str
    changed: Callable[[float], Case]
    limit: float | None = None


def variations(case: Case) -> Iterator[Variation]:
    """Every number that has a partial, where it is given at all."""
    yield from _limits(case)
    yield from _orbit(case)
    yield Variation("payload", "kg", partial(_payload, case))
    for group in case.vehicle.boosters:
        yield from _part(case, group)
    for stage in case.vehicle.stages:
        yield from _part(case, stage)
    if case.vehicle.aerodynamics is not None:
        air = case.vehicle.aerodynamics
        yield Variation("reference area", "%", partial(_area, case, air))


def _limits(case: Case) -> Iterator[Variation]:
    for name, (size, unit) in SCALES.items():
        value = getattr(case.mission.limits, name)
        if value is not None:
            label = f"limit on {name.replace('_', ' ')}"
            yield Variation(label, unit, partial(_limit, case, name), value / size)
    fairing = case.vehicle.fairing
    if fairing is not None:
        yield Variation(
            PAYLOAD_HEATING, "W/m^2", partial(_heating, case, fairing), fairing.max_heating
        )
        yield Variation("fairing mass", "kg", partial(_fairing_mass, case, fairing))
    if case.mission.vertical_rise is not None:
        yield Variation("vertical rise", "m", partial(_rise, case, case.mission.vertical_rise))


def _limit(case: Case, name: str, by: float) -> Case:
    limits = case.mission.limits
    more = getattr(limits, name) + by * SCALES[name][0]
    return case.on(replace(case.mission, limits=replace(limits, **{name: more})))


def _heating(case: Case, fairing: Fairing, by: float) -> Case:
    return case.flown_by(
        replace(case.vehicle, fairing=replace(fairing, max_heating=fairing.max_heating + by))
    )


def _fairing_mass(case: Case, fairing: Fairing, by: float) -> Case:
    return case.flown_by(replace(case.vehicle, fairing=replace(fairing, mass=fairing.mass + by)))


def _rise(case: Case, rise: float, by: float) -> Case:
    return case.on(replace(case.mission, vertical_rise=rise + by))


ELEMENTS = {
    "altitude": ("orbit altitude", "km", km),
    "semi_major_axis": ("semi-major axis", "km", km),
    "eccentricity": ("eccentricity", "0.001", 1e-3),
    "periapsis_altitude": ("periapsis altitude", "km", km),
    "apoapsis_altitude": ("apoapsis altitude", "km", km),
    "inclination": ("inclination", "deg", deg),
    "ascending_node": ("ascending node", "deg", deg),
    "argument_of_periapsis": ("argument of periapsis", "deg", deg),
}
"""Fields of the orbits: name, unit and its size in SI."""


def _orbit(case: Case) -> Iterator[Variation]:
    for field, (label, unit, size) in ELEMENTS.items():
        if getattr(case.mission.orbit, field, None) is not None:
            yield Variation(label, unit, partial(_element, case, field, size))
    lift_off, mission = case.mission.lift_off_time, case.mission
    if lift_off is not None and hangs_on_its_instant(mission):
        yield Variation("lift-off time", "s", partial(_lift_off, case, lift_off))


def _lift_off(case: Case, time: float, by: float) -> Case:
    return case.on(replace(case.mission, lift_off_time=time + by))


def _element(case: Case, field: str, size: float, by: float) -> Case:
    orbit: Orbit = case.mission.orbit
    more: dict[str, Any] = {field: getattr(orbit, field) + by * size}
    return case.on(replace(case.mission, orbit=replace(orbit, **more)))


def _payload(case: Case, by: float) -> Case:
    return case.flown_by(replace(case.vehicle, payload_mass=case.vehicle.payload_mass + by))


def _area(case: Case, air: Aerodynamics, by: float) -> Case:
    area = air.reference_area * (1.0 + 0.01 * by)
    return case.flown_by(replace(case.vehicle, aerodynamics=replace(air, reference_area=area)))


def _part(case: Case, part: Stage | BoosterGroup) -> Iterator[Variation]:
    each = f" of each of {part.count}" if isinstance(part, BoosterGroup) and part.count > 1 else ""
    for label, unit, change in (
        ("dry mass", "kg", _dry_mass),
        ("propellant", "kg", _propellant),
        ("vacuum Isp", "s", _isp),
        ("thrust", "%", _thrust),
    ):
        name = f"{part.name}: {label}{each}"
        yield Variation(name, unit, partial(_with_change, case, part, change))
    if part.engine.sea_level_isp is not None:
        name = f"{part.name}: sea-level Isp{each}"
        yield Variation(name, "s", partial(_with_change, case, part, _low_isp))


PartChange = Callable[[Stage | BoosterGroup, float], Stage | BoosterGroup]


def _with_change(case: Case, part: Stage | BoosterGroup, change: PartChange, by: float) -> Case:
    return case.with_part(part, change(part, by))


def _dry_mass(part: Stage | BoosterGroup, by: float) -> Stage | BoosterGroup:
    return replace(part, dry_mass=part.dry_mass + by)


def _propellant(part: Stage | BoosterGroup, by: float) -> Stage | BoosterGroup:
    return replace(part, propellant_mass=part.propellant_mass + by)


def _isp(part: Stage | BoosterGroup, by: float) -> Stage | BoosterGroup:
    return replace(part, engine=replace(part.engine, vacuum_isp=part.engine.vacuum_isp + by))


def _low_isp(part: Stage | BoosterGroup, by: float) -> Stage | BoosterGroup:
    low = part.engine.sea_level_isp
    more = None if low is None else low + by
    return replace(part, engine=replace(part.engine, sea_level_isp=more))


def _thrust(part: Stage | BoosterGroup, by: float) -> Stage | BoosterGroup:
    return replace(part, engine=stronger(part.engine, 1.0 + 0.01 * by))


def stronger(engine: Propulsion, factor: float) -> Propulsion:
    """The engine with its thrusts multiplied; a solid motor burns as much in less time."""
    if isinstance(engine, Engine):
        low = engine.sea_level_thrust
        return replace(
            engine,
            vacuum_thrust=factor * engine.vacuum_thrust,
            sea_level_thrust=None if low is None else factor * low,
        )
    return replace(
        engine,
        time=tuple(time / factor for time in engine.time),
        vacuum_thrust=tuple(factor * thrust for thrust in engine.vacuum_thrust),
    )


def grown(engine: Propulsion, factor: float) -> Propulsion:
    """More engines of the same kind: stronger, and a given exit area grows as well."""
    area, more = engine.exit_area, stronger(engine, factor)
    return more if area is None else replace(more, exit_area=factor * area)
