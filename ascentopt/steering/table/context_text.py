"""Vehicle, body, site and plan as lines of text that a program can read as well."""

from __future__ import annotations

from collections.abc import Iterator

from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, DragCurve, Engine, Stage, Vehicle
from ascentopt.rocket.engine import Propulsion
from ascentopt.world import Body


def context_lines(
    vehicle: Vehicle, mission: Mission, plan: FlightPlan, lift_off_mass: float
) -> Iterator[str]:
    """Lines, most of them as "name [unit]: value", in SI units; the mass at lift-off in kg."""
    yield f"vehicle: {vehicle.name}"
    yield _line("lift-off mass", "kg", lift_off_mass)
    yield _line("payload", "kg", vehicle.payload_mass)
    yield _line("ballast, fixed beside the payload", "kg", plan.ballast or 0.0)
    yield _line("fairing", "kg", vehicle.fairing_mass)
    parts: list[Stage | BoosterGroup] = [*vehicle.boosters, *vehicle.stages]
    for part in parts:
        yield from _part_lines(part)
    yield from _shape_lines(vehicle)
    yield ""
    yield f"mission: {mission.orbit} of {mission.body.name}"
    yield f"plan: {plan}"
    yield from _body_lines(mission.body)
    yield from _site_lines(mission)


def _line(name: str, unit: str, value: float) -> str:
    return f"{name} [{unit}]: {value!r}"


def _part_lines(part: Stage | BoosterGroup) -> Iterator[str]:
    """A stage, or one of the boosters of a group."""
    name = part.name
    if isinstance(part, BoosterGroup):
        yield f"{name}, number of boosters of which each has [-]: {part.count}"
    yield _line(f"{name}, propellant", "kg", part.propellant_mass)
    yield _line(f"{name}, dry mass", "kg", part.dry_mass)
    yield from _engine_lines(name, part.engine)


def _engine_lines(name: str, engine: Propulsion) -> Iterator[str]:
    if isinstance(engine, Engine):
        yield _line(f"{name}, vacuum thrust", "N", engine.vacuum_thrust)
        yield _line(f"{name}, least throttle", "-", engine.min_throttle)
    else:
        yield _line(f"{name}, mean vacuum thrust of its curve", "N", engine.mean_thrust)
        yield _line(f"{name}, burn time of its curve", "s", engine.burn_time)
    yield _line(f"{name}, vacuum Isp", "s", engine.vacuum_isp)
    yield _line(f"{name}, exit area", "m^2", engine.effective_exit_area)


def _shape_lines(vehicle: Vehicle) -> Iterator[str]:
    shape = vehicle.aerodynamics
    if shape is None:
        yield "aerodynamics: none, the air exerts no force"
        return
    yield _line("reference area", "m^2", shape.reference_area)
    if isinstance(shape.drag_coefficient, DragCurve):
        yield "drag coefficient: a curve against the Mach number"
    else:
        yield _line("drag coefficient", "-", shape.drag_coefficient)
    yield _line("normal force slope", "1/rad", shape.normal_force_slope)


def _body_lines(body: Body) -> Iterator[str]:
    yield f"body: {body.name}"
    yield _line("gravitational parameter", "m^3/s^2", body.gravitational_parameter)
    yield _line("equatorial radius", "m", body.radius)
    yield _line("flattening", "-", body.flattening)
    yield _line("J2", "-", body.j2)
    yield _line("rotation rate", "rad/s", body.rotation_rate)
    yield f"air: {'none' if body.atmosphere is None else body.atmosphere}"


def _site_lines(mission: Mission) -> Iterator[str]:
    site = mission.site
    yield f"site: {site.name or 'without a name'}"
    yield _line("site, geodetic latitude", "rad", site.latitude)
    yield _line("site, longitude", "rad", site.longitude)
    yield _line("site, altitude above the ellipsoid", "m", site.altitude)
    yield _line("lift-off, since longitude zero lay on the inertial x axis", "s",
                mission.lift_off_time or 0.0)  # fmt: skip
    yield _line("site, from the inertial x axis to its meridian at lift-off, eastward", "rad",
                mission.right_ascension)  # fmt: skip
