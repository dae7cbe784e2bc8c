"""What must not make a flight worse: each relation makes of a case another one to compare with.

A limit loosened, one more restart, a wider range of throttle leave every flight possible that was.
A better specific impulse or a lighter structure is worth more than what it changes on the way.
Mirrored at the equator or built ten times as heavy, the same flight costs the same, as it does for
a millionth more of payload, to far less than what is asked here.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from math import pi
from typing import Protocol, TypeVar

from ascentopt.mission import EllipticalOrbit, FlightLimits, Mission, Orbit
from ascentopt.rocket import BoosterGroup, Engine, SolidMotor, Stage, Vehicle
from ascentopt.rocket.engine import Propulsion

LOOSER, WIDER, BETTER, TIMES, A_LITTLE = 1.05, 0.8, 0.01, 10.0, 1e-6
"""Factor of a limit, of the least throttle; gain in specific impulse and dry mass; factor of
masses, thrusts and areas; part of the payload."""

Part = TypeVar("Part", Stage, BoosterGroup)


class Change(Protocol):
    """What is done to stages and boosters alike."""

    def __call__(self, part: Part) -> Part:
        """The part, changed."""
        ...


@dataclass(frozen=True, kw_only=True)
class Variant:
    """A neighbour of a case.

    `size` is the factor of all masses; a relation that works `both_ways` is broken by an answer
    that is better, too.
    """

    relation: str
    vehicle: Vehicle
    mission: Mission
    size: float = 1.0
    both_ways: bool = False


def variants(vehicle: Vehicle, mission: Mission) -> Iterator[Variant]:
    """All that the case has, in an order that stays."""
    for name, limits in looser(mission.limits):
        changed = replace(mission, limits=limits)
        yield Variant(relation=name, vehicle=vehicle, mission=changed)
    for name, abler in better(vehicle):
        yield Variant(relation=name, vehicle=abler, mission=mission)
    if mission.site.latitude:
        turned = mirrored(mission)
        yield Variant(relation="mirrored", vehicle=vehicle, mission=turned, both_ways=True)
    yield Variant(
        relation="ten times", vehicle=scaled(vehicle), mission=mission, size=TIMES, both_ways=True
    )
    if vehicle.payload_mass:
        heavier = replace(vehicle, payload_mass=vehicle.payload_mass * (1.0 + A_LITTLE))
        yield Variant(relation="a millionth", vehicle=heavier, mission=mission, both_ways=True)


def looser(limits: FlightLimits) -> Iterator[tuple[str, FlightLimits]]:
    """Each limit loosened, and each removed."""
    for field in fields(limits):
        value = getattr(limits, field.name)
        if value is None:
            continue
        wider = LOOSER * value
        if field.name == "angle_of_attack":
            wider = min(wider, pi)
        words = field.name.replace("_", " ")
        yield f"{words} looser", replace(limits, **{field.name: wider})
        yield f"{words} removed", replace(limits, **{field.name: None})


def better(vehicle: Vehicle) -> Iterator[tuple[str, Vehicle]]:
    """A vehicle that can do more, in each of several ways."""
    *below, last = vehicle.stages
    if vehicle.fairing is not None:
        fairing = replace(vehicle.fairing, max_heating=LOOSER * vehicle.fairing.max_heating)
        yield "fairing heating looser", replace(vehicle, fairing=fairing)
    if isinstance(last.engine, Engine):
        again = replace(last, restarts=last.restarts + 1)
        yield "a restart more", replace(vehicle, stages=(*below, again))
    if any(isinstance(stage.engine, Engine) for stage in vehicle.stages):
        wide = tuple(_wider(stage) for stage in vehicle.stages)
        yield "throttle wider", replace(vehicle, stages=wide)
    yield "specific impulse", _each(vehicle, _quicker)
    yield "dry mass", _each(vehicle, _lighter)


def _each(vehicle: Vehicle, change: Change) -> Vehicle:
    """All that is dropped, changed."""
    return replace(
        vehicle,
        stages=tuple(change(stage) for stage in vehicle.stages),
        boosters=tuple(change(group) for group in vehicle.boosters),
    )


def _wider(stage: Stage) -> Stage:
    engine = stage.engine
    if isinstance(engine, SolidMotor):
        return stage
    return replace(stage, engine=replace(engine, min_throttle=WIDER * engine.min_throttle))


def _lighter(part: Part) -> Part:
    return replace(part, dry_mass=part.dry_mass * (1.0 - BETTER))


def _quicker(part: Part) -> Part:
    """The same thrust of less propellant; a solid motor burns as long, with more thrust."""
    engine, gain = part.engine, 1.0 + BETTER
    isp, sea_level = gain * engine.vacuum_isp, _times(engine.sea_level_isp, gain)
    better: Propulsion
    if isinstance(engine, SolidMotor):
        thrust = tuple(gain * value for value in engine.vacuum_thrust)
        better = replace(engine, vacuum_thrust=thrust, vacuum_isp=isp, sea_level_isp=sea_level)
    else:
        better = replace(engine, vacuum_isp=isp, sea_level_isp=sea_level)
    return replace(part, engine=better)


def mirrored(mission: Mission) -> Mission:
    """The same launch seen in a mirror that lies in the equator's plane.

    The inclination stays. What was the ascending node is the descending one, so node and argument
    of periapsis move by half a turn.
    """
    site = replace(mission.site, latitude=-mission.site.latitude)
    return replace(mission, site=site, orbit=_turned(mission.orbit))


def _turned(orbit: Orbit) -> Orbit:
    turned: Orbit = replace(orbit, ascending_node=_half_a_turn(orbit.ascending_node))
    if isinstance(turned, EllipticalOrbit):
        argument = _half_a_turn(turned.argument_of_periapsis)
        return replace(turned, argument_of_periapsis=argument)
    return turned


def _half_a_turn(angle: float | None) -> float | None:
    if angle is None:
        return None
    return angle + pi if angle < 0.0 else angle - pi


def scaled(vehicle: Vehicle, factor: float = TIMES) -> Vehicle:
    """All masses, thrusts and areas times a factor: every acceleration stays."""
    fairing, shape = vehicle.fairing, vehicle.aerodynamics
    return replace(
        _each(vehicle, lambda part: _larger(part, factor)),
        payload_mass=factor * vehicle.payload_mass,
        fairing=fairing and replace(fairing, mass=factor * fairing.mass),
        aerodynamics=shape and replace(shape, reference_area=factor * shape.reference_area),
    )


def _larger(part: Part, factor: float) -> Part:
    return replace(
        part,
        propellant_mass=factor * part.propellant_mass,
        dry_mass=factor * part.dry_mass,
        engine=_stronger(part.engine, factor),
    )


def _stronger(engine: Propulsion, factor: float) -> Propulsion:
    area = _times(engine.exit_area, factor)
    if isinstance(engine, SolidMotor):
        thrust = tuple(factor * value for value in engine.vacuum_thrust)
        return replace(engine, vacuum_thrust=thrust, exit_area=area)
    sea_level = _times(engine.sea_level_thrust, factor)
    return replace(
        engine,
        vacuum_thrust=factor * engine.vacuum_thrust,
        sea_level_thrust=sea_level,
        exit_area=area,
    )


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else factor * value
