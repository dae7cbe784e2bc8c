"""One random case for each seed: `case(17)` is the same rocket and mission for ever."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.errors import InputError
from ascentopt.mission import CircularOrbit, Mission
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import deg, km
from benchmarks.survey.bound import impulsive_bound
from benchmarks.survey.building import UnbuildableError, sized
from benchmarks.survey.draw import Draw
from benchmarks.survey.limits import draw_limits
from benchmarks.survey.places import draw_mission, draw_place, needed_estimate
from benchmarks.survey.rockets import draw_vehicle

LEAST_PUSH, MOST_PUSH = 1.15, 2.5
"""Range of the thrust-to-weight at lift-off, in the weight of the body launched from."""

LEAST_SHARE, MOST_SHARE = 0.85, 1.25
"""Range of the ideal delta-v in shares of the estimated need: about a third of the vehicles fall
short, some by far and some by little."""

_ATTEMPTS = 400


@dataclass(frozen=True, kw_only=True)
class Case:
    """A vehicle and a mission that passed construction, with a line that says what they are."""

    seed: int
    vehicle: Vehicle
    mission: Mission
    label: str
    features: tuple[str, ...] = ()

    @property
    def bound(self) -> float:
        """Ideal delta-v in m/s that no flight can do without."""
        return impulsive_bound(self.mission)


def case(seed: int) -> Case:
    """Return the case of this seed; `seed` is zero or more."""
    draw = Draw(seed)
    share = draw.uniform(LEAST_SHARE, MOST_SHARE)
    mission = _possible_mission(draw)
    for _ in range(_ATTEMPTS):
        try:
            return _attempt(seed, draw, mission, share)
        except (UnbuildableError, InputError):
            continue  # a bad draw is drawn again, from the same stream
    raise RuntimeError(f"case {seed}: no vehicle was found in {_ATTEMPTS} draws")


def _possible_mission(draw: Draw) -> Mission:
    while True:
        try:
            return draw_mission(draw, draw_place(draw))
        except InputError:
            continue


def _attempt(seed: int, draw: Draw, mission: Mission, share: float) -> Case:
    recipe = draw_vehicle(draw, mission, impulsive_bound(mission))
    needed = needed_estimate(mission, recipe.lift_off_thrust_to_weight)
    vehicle = sized(recipe, mission, share * needed)
    push = lift_off_push(vehicle, mission)
    if not LEAST_PUSH <= push <= MOST_PUSH:
        raise UnbuildableError("lift-off thrust out of range")
    flown = replace(mission, limits=draw_limits(draw, vehicle, mission, push))
    label = _label(vehicle, flown, share)
    return Case(seed=seed, vehicle=vehicle, mission=flown, label=label)


def lift_off_push(vehicle: Vehicle, mission: Mission) -> float:
    """Thrust-to-weight at time zero on the pad, in its air and its gravity."""
    body, air = mission.body, mission.body.atmosphere
    ambient = float(air.pressure(mission.site.altitude)) if air is not None else 0.0
    lit = [(1, vehicle.stages[0].engine)]
    lit += [(group.count, group.engine) for group in vehicle.boosters if not group.ignition_time]
    thrust = sum(
        count * (float(engine.vacuum_thrust_at(0.0)) - ambient * engine.effective_exit_area)
        for count, engine in lit
    )
    gravity = body.gravitational_parameter / body.radius**2
    return float(thrust / (vehicle.lift_off_mass * gravity))


def _label(vehicle: Vehicle, mission: Mission, share: float) -> str:
    stages = "+".join(_kind(stage.engine) for stage in vehicle.stages)
    boosters = "".join(f" +{g.count} {_kind(g.engine)} boosters" for g in vehicle.boosters)
    restart = " restart" if vehicle.stages[-1].restarts else ""
    inclination = mission.orbit.inclination
    plane = "free plane" if inclination is None else f"{inclination / deg:.0f} deg"
    if isinstance(mission.orbit, CircularOrbit):
        orbit = f"{mission.orbit.altitude / km:.0f} km"
    else:
        low, high = mission.orbit.periapsis_altitude, mission.orbit.apoapsis_altitude
        orbit = f"{(low or 0.0) / km:.0f} x {(high or 0.0) / km:.0f} km"
    return (
        f"{mission.body.name}, {stages}{boosters}{restart}, {orbit}, {plane}, "
        f"{share:.2f} of the need"
    )


def _kind(engine: object) -> str:
    return "solid" if isinstance(engine, SolidMotor) else "liquid"
