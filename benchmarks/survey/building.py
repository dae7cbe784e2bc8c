"""From a drawn vehicle to one of a given ideal delta-v."""

from __future__ import annotations

from math import cbrt, exp, pi

from ascentopt.mission import Mission
from ascentopt.rocket import (
    Aerodynamics,
    BoosterGroup,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
)
from ascentopt.units import SEA_LEVEL_PRESSURE, STANDARD_GRAVITY
from benchmarks.survey.rockets import SHAPES, SOLID, BoosterDraw, StageDraw, VehicleDraw

MOST_LIFT_OFF_MASS = 350.0
"""Greatest lift-off mass per payload mass: more is not built (common practice, no source)."""


class UnbuildableError(ValueError):
    """A drawn vehicle whose structure is too heavy for the speed asked of it."""


def sized(recipe: VehicleDraw, mission: Mission, delta_v: float) -> Vehicle:
    """Return the vehicle of this draw whose ideal delta-v is `delta_v` m/s, to a millimetre/s.

    Raises:
        UnbuildableError: when its structure is too heavy for that.
    """
    low, high = 0.2 * delta_v, 1.6 * delta_v
    for _ in range(50):
        middle = 0.5 * (low + high)
        try:
            vehicle = _built(recipe, mission, middle)
        except UnbuildableError:
            high = middle
            continue
        miss = vehicle.ideal_delta_v - delta_v
        if abs(miss) < 1e-3:
            return vehicle
        low, high = (middle, high) if miss < 0.0 else (low, middle)
    raise UnbuildableError("too heavy")


def _built(recipe: VehicleDraw, mission: Mission, delta_v: float) -> Vehicle:
    """The vehicle whose stages share `delta_v` without counting boosters."""
    gravity = mission.body.gravitational_parameter / mission.body.radius**2
    fairing = recipe.fairing_share * recipe.payload_mass
    total = sum(stage.weight * stage.exhaust_speed for stage in recipe.stages)
    carried, stages = recipe.payload_mass + fairing, []
    for index, draw in reversed(list(enumerate(recipe.stages))):
        mass = _stage_mass(draw, carried, delta_v * draw.weight * draw.exhaust_speed / total)
        carried += mass
        if index:
            thrust = draw.thrust_to_weight * gravity * carried
            stages.append(_stage(f"stage {index + 1}", draw, mass, thrust))
    first = recipe.stages[0]
    boosters = _booster_masses(recipe, mass)
    if (carried + sum(boosters)) > MOST_LIFT_OFF_MASS * recipe.payload_mass:
        raise UnbuildableError("too large")
    push = first.thrust_to_weight * gravity * (carried + sum(boosters))
    thrust = push / _pad_thrust_per_core_thrust(recipe, mission)
    stages.append(_stage("stage 1", first, mass, thrust))
    core = stages[-1]
    area = _reference_area(carried)
    return Vehicle(
        name="Surveyed",
        payload_mass=recipe.payload_mass,
        stages=tuple(reversed(stages)),
        boosters=tuple(
            _group(f"boosters {index + 1}", draw, mass, core.burn_time)
            for index, (draw, mass) in enumerate(zip(recipe.boosters, boosters, strict=True))
        ),
        fairing=Fairing(mass=fairing) if fairing else None,
        aerodynamics=Aerodynamics(
            reference_area=area,
            drag_coefficient=recipe.drag,
            normal_force_slope=recipe.normal_force_slope,
        ),
    )


def _stage_mass(draw: StageDraw, carried: float, delta_v: float) -> float:
    """Mass in kg of a stage that gives `delta_v` m/s to what it carries, by the rocket equation."""
    ratio = exp(delta_v / (STANDARD_GRAVITY * draw.isp))
    if ratio * draw.dry > 0.95:
        raise UnbuildableError("structure too heavy")
    return carried * (ratio - 1.0) / (1.0 - ratio * draw.dry)


def _booster_masses(recipe: VehicleDraw, core_mass: float) -> list[float]:
    """Mass in kg of each whole group."""
    core = core_mass * (1.0 - recipe.stages[0].dry)
    return [group.share * core / (1.0 - group.dry) for group in recipe.boosters]


def _pad_thrust_per_core_thrust(recipe: VehicleDraw, mission: Mission) -> float:
    """Thrust of all that burns on the pad, in its air, per vacuum thrust of the core."""
    core, air = recipe.stages[0], mission.body.atmosphere
    ambient = air.pressure(mission.site.altitude) / SEA_LEVEL_PRESSURE if air is not None else 0.0
    total = _mean_to_first(core) - ambient * _loss(core.sea_level)
    for group in recipe.boosters:
        if group.start == 0.0:
            mean = group.share / group.burn * group.isp / core.isp
            total += mean * (_mean_to_first(group) - ambient * _loss(group.sea_level))
    if total <= 0.2:
        raise UnbuildableError("nozzles too long for this air")
    return total


def _loss(sea_level: float | None) -> float:
    return 0.0 if sea_level is None else 1.0 - sea_level


def _mean_to_first(part: StageDraw | BoosterDraw) -> float:
    """Thrust at ignition per mean thrust."""
    if part.propellant is not SOLID:
        return 1.0
    motor = _motor(part, 1.0, 1.0, None)
    return float(motor.vacuum_thrust[0]) / motor.mean_thrust


def _stage(name: str, draw: StageDraw, mass: float, thrust: float) -> Stage:
    propellant = mass * (1.0 - draw.dry)
    sea_level = None if draw.sea_level is None else draw.sea_level * draw.isp
    engine: Engine | SolidMotor
    if draw.propellant is SOLID:
        burn = propellant * draw.exhaust_speed / thrust
        engine = _motor(draw, propellant, burn, sea_level)
    else:
        engine = Engine(
            vacuum_thrust=thrust,
            vacuum_isp=draw.isp,
            sea_level_isp=sea_level,
            min_throttle=draw.min_throttle,
        )
    return Stage(
        name=name,
        propellant_mass=propellant,
        dry_mass=mass * draw.dry,
        engine=engine,
        restarts=draw.restarts,
        ignition_delay=draw.ignition_delay,
    )


def _group(name: str, draw: BoosterDraw, mass: float, core_burn: float) -> BoosterGroup:
    propellant = mass / draw.count * (1.0 - draw.dry)
    burn, sea_level = draw.burn * core_burn, draw.sea_level * draw.isp
    engine: Engine | SolidMotor
    if draw.propellant is SOLID:
        engine = _motor(draw, propellant, burn, sea_level)
    else:
        thrust = propellant / burn * STANDARD_GRAVITY * draw.isp
        engine = Engine(vacuum_thrust=thrust, vacuum_isp=draw.isp, sea_level_isp=sea_level)
    return BoosterGroup(
        name=name,
        count=draw.count,
        propellant_mass=propellant,
        dry_mass=mass / draw.count * draw.dry,
        engine=engine,
        ignition_time=draw.start * core_burn,
    )


def _motor(
    draw: StageDraw | BoosterDraw, propellant: float, burn: float, sea_level: float | None
) -> SolidMotor:
    times, shape = SHAPES[draw.shape]
    mean = propellant * STANDARD_GRAVITY * draw.isp / burn
    motor = SolidMotor(
        time=tuple(burn * time for time in times),
        vacuum_thrust=tuple(mean * value for value in shape),
        vacuum_isp=draw.isp,
        sea_level_isp=sea_level,
    )
    return motor.scaled_to(propellant)


def _reference_area(lift_off_mass: float) -> float:
    """Cross section in m^2 of a cylinder of 700 kg/m^3, twelve times as long as wide."""
    diameter = cbrt(4.0 * lift_off_mass / (pi * 700.0 * 12.0))
    return 0.25 * pi * diameter**2
