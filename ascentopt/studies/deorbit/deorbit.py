"""The way home: what it takes to come down from the orbit, and whether the tank holds it."""

from __future__ import annotations

from dataclasses import replace
from logging import getLogger
from math import asin, atan2, exp, inf, pi

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.orbit.deorbit import (
    BURN,
    Descent,
    apoapsis_impulse,
    deorbit_impulse,
    entry_altitude,
    wait_for_apoapsis,
)
from ascentopt.flight.orbit.orbiting import OrbitingStage
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.failure import EndingNotReached, FlightError, HitGround
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.results.trajectory import TrajectoryArc
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import SolidMotor
from ascentopt.studies.deorbit.way_home import Deorbit, Entry
from ascentopt.units import km
from ascentopt.validation import finite, instance, not_negative, require, within
from ascentopt.world import Body

MOST_REVOLUTIONS = 500
"""That a coast may take, a month in a low orbit: each is integrated, sixty in a second."""

_LOG = getLogger("ascentopt.studies")

ROUND = 1e-4
"""Eccentricity below which the place of the burn is not worth waiting for: a few per mille."""

# kg by which the propellant that just suffices may change when the flight is flown with it.
_CLOSED = 1e-6
_MOST_FLIGHTS = 8


@checked
def orbiting(ascent: Ascent) -> OrbitingStage:
    """The inserting stage at the end of an ascent's independent flight, with what it carries."""
    vehicle, plan = ascent.vehicle, ascent.plan
    stage = vehicle.stages[plan.inserting_stage]
    final = ascent.trajectory.final_state
    last = sequence_of(vehicle, replace(ascent.mission, reserve=None), plan).arcs[-1]
    return OrbitingStage(
        name=vehicle.name,
        body=ascent.mission.body,
        stage=stage,
        position=tuple(map(float, final[:3])),
        velocity=tuple(map(float, final[3:6])),
        mass=float(final[6]),
        payload_mass=last.least_mass - stage.dry_mass,
        restarts=stage.restarts - plan.restarts,
        aerodynamics=vehicle.aerodynamics,
        time=ascent.flight_time,
        lift_off_time=ascent.mission.lift_off_time or 0.0,
    )


@checked
def deorbit(
    start: Ascent | OrbitingStage,
    *,
    periapsis_altitude: float,
    coast: float | None = None,
    with_payload: bool = True,
    progress: Progress[Deorbit] | None = None,
    time_limit: float | None = None,
) -> Deorbit:
    """Burn against the motion until the periapsis is down, and fall to the air or the ground.

    Args:
        start: an ascent, after its insertion, or any stage in orbit.
        periapsis_altitude: m above the equatorial radius, as those of orbits are; below the
            ceiling of the air, or below the ground of an airless body.
        coast: s before the burn; None lays the burn around the next apoapsis, and begins it at
            once in an orbit that is round (eccentricity below `ROUND`).
        with_payload: whether the payload comes down with the stage; False leaves it in orbit
            before the burn.
        progress: is given a `Step` for each flight that looks for the propellant it takes; there
            is nothing before the last.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: when the stage has no restart left, or the periapsis asked for leads nowhere.
        Interrupted, OutOfTime: by the keyboard, or when the time is up; they carry nothing.
    """
    watch = Watch("deorbit", _LOG, progress, time_limit)
    instance("deorbit", "start", start, (Ascent, OrbitingStage), "Give one of these.")
    stage = orbiting(start) if isinstance(start, Ascent) else start
    _check(stage, periapsis_altitude, coast)
    lean = stage
    if not with_payload:
        lean = replace(stage, payload_mass=0.0, mass=stage.mass - stage.payload_mass)
    with watch.carrying("way home", lambda: None):
        planned = _planned(lean, stage.body.radius + periapsis_altitude, coast)
        mass, flight = _flown(watch, planned, lean.mass)
    return Deorbit(
        start=stage,
        with_payload=with_payload,
        periapsis_altitude=periapsis_altitude,
        coast=planned.coast,
        delta_v=flight.budget.ideal,
        impulsive_delta_v=_impulse(planned, flight, at_apoapsis=coast is None),
        propellant=mass - _after_burn(flight),
        entry=_entry(stage, flight),
        flight=flight,
    )


def _check(stage: OrbitingStage, periapsis_altitude: float, coast: float | None) -> None:
    owner, body = f"deorbit of {stage.name!r}", stage.body
    if stage.restarts < 1 or isinstance(stage.stage.engine, SolidMotor):
        raise InputError(
            f"{owner}: stage {stage.stage.name!r} has no restart left after the insertion; the "
            "burn against the motion needs one. Give the stage one more restart (Stage.restarts)."
        )
    if coast is not None:
        fix = "Give seconds, or None for the next apoapsis."
        not_negative(owner, "coast", coast, "s", fix)
    fix = "Give metres above the equatorial radius, for instance 50 * km on Earth."
    finite(owner, "periapsis_altitude", periapsis_altitude, "m", fix)
    entry = entry_altitude(body)
    rule = f"below {_place(body)} ({entry / km:g} km), and above the centre of {body.name}"
    good = -body.radius < periapsis_altitude < entry
    require(owner, "periapsis_altitude", periapsis_altitude, "m", rule, fix, holds=good)
    orbit = stage.orbit
    low = orbit.periapsis_radius - body.radius
    if orbit.apoapsis_radius == inf or low <= entry:
        raise InputError(
            f"{owner}: its orbit has the periapsis at {low / km:.6g} km and the apoapsis at "
            f"{(orbit.apoapsis_radius - body.radius) / km:.6g} km; it must be an orbit that stays "
            f"above {_place(body)} ({entry / km:g} km). Begin in such an orbit."
        )
    if coast is not None:
        fix = "Give fewer seconds, or None for the next apoapsis: a coast is integrated."
        within(owner, "coast", coast, "s", (0.0, MOST_REVOLUTIONS * orbit.period), fix)


def _planned(stage: OrbitingStage, radius: float, coast: float | None) -> Descent:
    if coast is None:
        coast = 0.0
        if stage.orbit.eccentricity >= ROUND:
            engine = stage.stage.engine
            exhaust = engine.exhaust_speed
            burned = stage.mass * (1.0 - exp(-apoapsis_impulse(stage, radius) / exhaust))
            half = 0.5 * burned / engine.mass_flow
            coast = wait_for_apoapsis(stage, half) - half
    return Descent(orbiting=stage, periapsis_radius=radius, coast=coast)


def _flown(watch: Watch[Deorbit], descent: Descent, mass: float) -> tuple[float, Flight]:
    """The mass at the start and the flight: the given mass, or one with just enough propellant."""
    stage = descent.orbiting
    exhaust = stage.stage.engine.exhaust_speed
    flight = _down(watch, descent, mass)
    if _after_burn(flight) >= stage.empty_mass:
        return mass, flight
    for _ in range(_MOST_FLIGHTS):
        before, mass = mass, stage.empty_mass * exp(flight.budget.ideal / exhaust)
        if abs(mass - before) < _CLOSED:
            break
        flight = _down(watch, descent, mass)
    return mass, flight


def _down(watch: Watch[Deorbit], descent: Descent, mass: float) -> Flight:
    """Fly it, and say in the user's words what may be wrong with it."""
    watch.deadline.left()
    stage = descent.orbiting
    owner, entry = f"deorbit of {stage.name!r}", entry_altitude(stage.body)
    asked = f"periapsis_altitude is {(descent.periapsis_radius - stage.body.radius) / km:.6g} km"
    try:
        flight = descent.flown(mass)
    except EndingNotReached as failure:
        low = float(Readings.of(failure.trajectory.arcs[-1].readings).altitude.min())
        raise InputError(
            f"{owner}: {asked}, but the path comes no lower than {low / km:.6g} km, and "
            f"{_place(stage.body)} lies at {entry / km:g} km: oblateness moves it by as much. Ask "
            "for a lower periapsis."
        ) from failure
    except FlightError as failure:
        if isinstance(failure, HitGround) and failure.arc == BURN:
            raise InputError(
                f"{owner}: {asked}, but the burn is not over when it comes to the ground: the "
                "thrust is too low. Ask for a higher periapsis."
            ) from failure
        raise InputError(
            f"{owner}: {asked}, but the flight ends too early: {failure} Ask for a higher "
            "periapsis, or begin in a higher orbit."
        ) from failure
    if _end(flight.trajectory.arcs[1]).altitude <= entry:
        raise InputError(
            f"{owner}: {asked}, but the burn is not over when it comes to {_place(stage.body)} at "
            f"{entry / km:g} km: the thrust is too low. Ask for a higher periapsis."
        )
    watch.finishes(f"down with {mass - _after_burn(flight):.3f} kg of propellant")
    return flight


def _after_burn(flight: Flight) -> float:
    """Mass in kg after the burn."""
    return float(flight.trajectory.arcs[1].states[-1, 6])


def _end(arc: TrajectoryArc) -> Readings:
    return Readings.of(arc.readings[-1])


def _impulse(descent: Descent, flight: Flight, *, at_apoapsis: bool) -> float:
    stage = descent.orbiting
    if at_apoapsis and stage.orbit.eccentricity >= ROUND:
        return apoapsis_impulse(stage, descent.periapsis_radius)
    ignition = flight.trajectory.arcs[0].states[-1]
    mu = stage.body.gravitational_parameter
    return deorbit_impulse(mu, ignition[:3], ignition[3:6], descent.periapsis_radius)


def _entry(stage: OrbitingStage, flight: Flight) -> Entry:
    down = flight.trajectory.arcs[-1]
    point, state = _end(down), down.states[-1]
    up = Surroundings(stage.body).at(state)[:3]
    turned = stage.body.rotation_rate * (stage.lift_off_time + float(point.time))
    longitude = atan2(state[1], state[0]) - turned
    return Entry(
        altitude=float(point.altitude),
        fall_time=float(down.times[-1] - down.times[0]),
        speed=float(point.speed),
        flight_path_angle=float(point.flight_path_angle),
        air_speed=float(point.air_speed),
        air_flight_path_angle=float(point.air_flight_path_angle),
        mass=float(point.mass),
        latitude=asin(up[2]),
        longitude=(longitude + pi) % (2.0 * pi) - pi,
    )


def _place(body: Body) -> str:
    return "the ground" if body.atmosphere is None else "the ceiling of the air"
