"""Whether a vehicle lifts off and keeps climbing, within its limits and towards its plane."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, pi

from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.hold_down import greatest_pad_thrust, held_down, seconds_held
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.vertical_rise import pad_gravity, pad_pressure
from ascentopt.flight.plan import direct
from ascentopt.mission import Mission
from ascentopt.optimal.bounds.impulsive import passes_over, site_latitude
from ascentopt.optimal.bounds.motor_acceleration import check_motors, motors_that_need_drag
from ascentopt.optimal.bounds.vertical_flight import sinking_straight_up
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import STANDARD_GRAVITY, deg

_STAY_UP = "Add thrust, light boosters earlier or let them burn longer, or take mass off."


def check_plane(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse a plane that does not pass over the site where nothing can burn after a coast.

    What burns from the pad on ascends in a plane over the site; only a later burn, where the flight
    crosses the plane wanted, turns it.

    Raises:
        InputError: naming inclination and latitude.
    """
    inclination, first = mission.orbit.inclination, vehicle.stages[0]
    if inclination is None or passes_over(mission, inclination):
        return
    if len(vehicle.stages) > 1 or first.restarts > restarts_kept(mission):
        return
    least = site_latitude(mission)
    raise InputError(
        f"Mission: orbit.inclination is {inclination / deg:.6g} deg; it must be between "
        f"{least / deg:.6g} and {(pi - least) / deg:.6g} deg, the geocentric latitude of the "
        "site and its supplement: the plane of an orbit passes through the centre of the body "
        f"and the site, unless a burn after a coast turns it, and vehicle {vehicle.name!r} has "
        f"nothing that could be lit after a coast. Give stage {first.name!r} another restart, "
        "change the inclination, leave it None, or launch nearer to the equator."
    )


def check_lift_off(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse a vehicle that its engines cannot lift and keep up, and limits that forbid it.

    Raises:
        InputError: naming thrust, weight and limit.
    """
    check_plane(vehicle, mission)
    check_motors(vehicle, mission)
    sequence = sequence_of(vehicle, mission, direct(vehicle))
    first, weight = sequence.arcs[0], sequence.mass * pad_gravity(mission)
    held = held_down(vehicle, mission)
    thrust = pad_thrust(held, mission)
    if seconds_held(vehicle, mission) is None:
        thrust = greatest_pad_thrust(vehicle, mission)
        weight = max(weight, thrust)
    if thrust <= weight:
        raise InputError(
            f"Vehicle {vehicle.name!r}: thrust at lift-off is {thrust / 1e3:.1f} kN from "
            f"{mission.site} on {mission.body.name}; it must exceed the weight, "
            f"{weight / 1e3:.1f} kN. {_lit_late(vehicle)}{_in_kilonewtons(thrust, weight)}"
            "Add thrust, light boosters at lift-off, or take mass off."
        )
    sunk = sinking_straight_up(vehicle, mission, relieved=True).time
    if sunk < inf:
        raise InputError(
            f"Vehicle {vehicle.name!r}: it lifts off, but later its thrust falls below its weight: "
            f"{_sunk(sunk)}. {_STAY_UP}"
        )
    most = mission.limits.axial_acceleration
    least = thrust * first.min_throttle / sequence.mass
    if most is not None and least > most:
        raise InputError(
            f"FlightLimits: axial_acceleration is {most:.3f} m/s^2, but vehicle {vehicle.name!r} "
            f"accelerates at {least:.3f} m/s^2 at lift-off at its least throttle; the limit must "
            "not exclude the start. Raise it, or let the engine throttle lower."
        )


def _lit_late(vehicle: Vehicle) -> str:
    """Says that the first stage has no part in the lift-off, where it has none."""
    delay = vehicle.stages[0].ignition_delay
    if not delay:
        return ""
    return f"Stage {vehicle.stages[0].name!r} is lit {delay:g} s later: see its ignition_delay. "


def _in_kilonewtons(thrust: float, weight: float) -> str:
    """The slip that a thrust of a thousandth tells of: launchers leave the pad with 1.1 to 5 g."""
    slipped = 1e-3 < thrust / weight < 6e-3
    return "The thrust looks like kN: write 1150 * kN. " if slipped else ""


def stages_beyond_acceleration_limit(vehicle: Vehicle, mission: Mission) -> Iterator[str]:
    """Stages that the limit on axial acceleration seems to forbid, in words.

    A stage accelerates most as it burns out. What is said leaves out the air, which may take a
    little off: it explains a refusal, and is no reason for one.
    """
    yield from motors_that_need_drag(vehicle, mission)
    most = mission.limits.axial_acceleration
    for index, stage in enumerate(vehicle.stages[:-1] if most is not None else ()):
        if isinstance(stage.engine, SolidMotor):
            continue
        least = stage.engine.vacuum_thrust * stage.engine.min_throttle
        reached = least / (vehicle.mass_above(index) + stage.dry_mass)
        if most is not None and reached > most:
            yield (
                f"stage {stage.name!r} accelerates at {reached / STANDARD_GRAVITY:.2f} g or so as "
                f"it burns out at its least throttle, and the limit on axial acceleration is "
                f"{most / STANDARD_GRAVITY:.2f} g"
            )


def pad_thrust(vehicle: Vehicle, mission: Mission) -> float:
    """Thrust in N of all that is lit at lift-off, in the air of the site."""
    pressure, core = pad_pressure(mission), vehicle.stages[0]
    lit = [(1, core.engine)] if core.ignition_delay == 0.0 else []
    lit += [(g.count, g.engine) for g in vehicle.boosters if g.ignition_time == 0.0]
    return sum(
        n * (float(engine.vacuum_thrust_at(0.0)) - pressure * engine.effective_exit_area)
        for n, engine in lit
    )


def why_it_falls_back(vehicle: Vehicle, mission: Mission) -> tuple[float, str] | None:
    """Why nothing is found: m/s that would keep it aloft, and in words; None where it climbs.

    A flight that gains speed sideways might do a little better; so this is no proof.
    """
    flown = sinking_straight_up(vehicle, mission, relieved=False)
    if flown.time == inf:
        return None
    return flown.missing, (
        f"{_sunk(flown.time)}: {flown.missing:.1f} m/s of upward speed are missing to keep it "
        f"aloft. {_STAY_UP}"
    )


def _sunk(seconds: float) -> str:
    return (
        f"even straight up and without drag it is back on the ground {seconds:.0f} s after "
        "lift-off, its first stage still burning"
    )
