"""What can be said before anything is solved."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import cos, inf, pi, sqrt

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.phases.vertical_rise import pad_gravity, pad_pressure
from ascentopt.flight.plan import direct
from ascentopt.mission import Mission
from ascentopt.mission.mission import ANGLE_TOLERANCE
from ascentopt.optimal.bounds.vertical_flight import sinking
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import STANDARD_GRAVITY, deg
from ascentopt.world.ellipsoid import geocentric_latitude

_STAY_UP = "Add thrust, light boosters earlier or let them burn longer, or take mass off."


@dataclass(frozen=True)
class ImpulsiveBound:
    """Least speed that any ascent must find, whatever the vehicle.

    Attributes:
        speed: m/s of ideal delta-v that no flight to the orbit can do without.
    """

    speed: float


def impulsive_bound(mission: Mission) -> ImpulsiveBound:
    """Lower bound by an impulsive ascent that grazes the surface.

    One horizontal impulse at the surface onto an ellipse that touches the orbit, one there to
    join it; gravity, air and steering cost nothing, and the spin of the site is a gift in the
    direction that suits it best for the inclination. Air and finite thrust only add to it, and so
    does the turn into a plane that does not pass over the site.
    Source: the surface-grazing Hohmann ascent; see H. D. Curtis, *Orbital Mechanics for
    Engineering Students*, 3rd ed., sec. 6.3, for the two impulses.
    """
    mu, surface = mission.body.gravitational_parameter, _surface(mission)
    return ImpulsiveBound(max(_ascent(mission, mu, surface) - _gift(mission), 0.0))


def _surface(mission: Mission) -> float:
    """Largest radius of the ground that a flight may graze: conservative where it is flattened."""
    return mission.body.radius + max(mission.site.altitude, 0.0)


def _ascent(mission: Mission, mu: float, surface: float) -> float:
    """Departure from the surface and the burn that joins the orbit at its highest point, m/s."""
    orbit, body = mission.orbit, mission.body
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    axis = orbit.semi_major_axis_around(body)
    if high is None or low is None:
        # The orbit's size alone: its energy, from the surface, in one impulse.
        least = axis if axis is not None else 0.5 * (surface + (low or high or surface))
        return sqrt(max(mu * (2.0 / surface - 1.0 / max(least, 0.51 * surface)), 0.0))
    top = max(high, surface)
    depart = sqrt(2.0 * mu * (1.0 / surface - 1.0 / (surface + top)))
    arrive = sqrt(2.0 * mu * (1.0 / top - 1.0 / (surface + top)))
    final = sqrt(2.0 * mu * (1.0 / top - 1.0 / (low + top)))
    return depart + max(final - arrive, 0.0)


def _gift(mission: Mission) -> float:
    """Speed of the site along the direction of flight, m/s; a burden when flown against."""
    eastward, latitude = mission.body.rotation_rate * _surface(mission), _latitude(mission)
    inclination = mission.orbit.inclination
    if inclination is None or not _passes_over(mission, inclination):
        # Whichever plane is ascended in, the site gives no more than all of its speed.
        inclination = latitude if eastward >= 0.0 else pi - latitude
    # Along an orbit of inclination i the site's velocity, omega R cos(lat) east, has the component
    # omega R cos(i) wherever the orbit crosses that latitude.
    return eastward * cos(inclination)


def _latitude(mission: Mission) -> float:
    """Geocentric latitude of the site in rad, never negative."""
    site = mission.site
    return abs(geocentric_latitude(mission.body, site.latitude, site.altitude))


def _passes_over(mission: Mission, inclination: float) -> bool:
    """Whether a plane so much inclined may pass over the site."""
    least = _latitude(mission) - ANGLE_TOLERANCE
    return least <= inclination <= pi - least


def check_plane(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse a plane that does not pass over the site where nothing can burn after a coast.

    What burns from the pad on ascends in a plane over the site; only a later burn, where the flight
    crosses the plane wanted, turns it.

    Raises:
        InputError: naming inclination and latitude.
    """
    inclination, first = mission.orbit.inclination, vehicle.stages[0]
    if inclination is None or _passes_over(mission, inclination):
        return
    if len(vehicle.stages) > 1 or first.restarts > restarts_kept(mission):
        return
    least = _latitude(mission)
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
    sequence = sequence_of(vehicle, mission, direct(vehicle))
    first, weight = sequence.arcs[0], sequence.mass * pad_gravity(mission)
    thrust = _pad_thrust(vehicle, mission)
    if thrust <= weight:
        raise InputError(
            f"Vehicle {vehicle.name!r}: thrust at lift-off is {thrust / 1e3:.1f} kN from "
            f"{mission.site} on {mission.body.name}; it must exceed the weight, "
            f"{weight / 1e3:.1f} kN. {_lit_late(vehicle)}Add thrust, light boosters at lift-off, "
            "or take mass off."
        )
    sunk = sinking(vehicle, mission, relieved=True).time
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
            f"pushes with {least:.3f} m/s^2 at lift-off at its least throttle; the limit must not "
            "exclude the start. Raise it, or let the engine throttle lower."
        )


def _lit_late(vehicle: Vehicle) -> str:
    """Says that the first stage has no part in the lift-off, where it has none."""
    delay = vehicle.stages[0].ignition_delay
    if not delay:
        return ""
    return f"Stage {vehicle.stages[0].name!r} is lit {delay:g} s later: see its ignition_delay. "


def pushed_beyond(vehicle: Vehicle, mission: Mission) -> Iterator[str]:
    """Stages that the limit on axial acceleration seems to forbid, in words.

    A stage that burns out pushes hardest then. What is said leaves out the air, which may take a
    little off: it explains a refusal, and is no reason for one.
    """
    most = mission.limits.axial_acceleration
    for index, stage in enumerate(vehicle.stages[:-1] if most is not None else ()):
        if isinstance(stage.engine, SolidMotor):  # its thrust at the end is another matter
            continue
        least = stage.engine.vacuum_thrust * stage.engine.min_throttle
        push = least / (vehicle.mass_above(index) + stage.dry_mass)
        if most is not None and push > most:
            yield (
                f"stage {stage.name!r} pushes with {push / STANDARD_GRAVITY:.2f} g or so as it "
                f"burns out at its least throttle, and the limit on axial acceleration is "
                f"{most / STANDARD_GRAVITY:.2f} g"
            )


def _pad_thrust(vehicle: Vehicle, mission: Mission) -> float:
    """Thrust in N of all that is lit at lift-off, in the air of the site."""
    pressure, core = pad_pressure(mission), vehicle.stages[0]
    lit = [(1, core.engine)] if core.ignition_delay == 0.0 else []
    lit += [(g.count, g.engine) for g in vehicle.boosters if g.ignition_time == 0.0]
    return sum(
        n * (float(engine.vacuum_thrust_at(0.0)) - pressure * engine.effective_exit_area)
        for n, engine in lit
    )


def falling_back(vehicle: Vehicle, mission: Mission) -> tuple[float, str] | None:
    """Why nothing is found: m/s that would keep it aloft, and in words; None where it climbs.

    A flight that gains speed sideways might do a little better; so this is no proof.
    """
    flown = sinking(vehicle, mission, relieved=False)
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


def check_bound(vehicle: Vehicle, mission: Mission) -> None:
    """Refuse in milliseconds what no steering can bring to the orbit.

    The vehicle's ideal delta-v, all engines at vacuum thrust and the fairing left on the ground,
    is more than it can ever deliver; the impulsive bound is less than any ascent needs.

    Raises:
        InfeasibleAscent: with the difference as the least shortfall.
    """
    able, needed = replace(vehicle, fairing=None).ideal_delta_v, impulsive_bound(mission).speed
    if able < needed:
        short = needed - able
        raise InfeasibleAscent(
            f"{vehicle.name}: its ideal delta-v is {able:.0f} m/s, but no ascent from "
            f"{mission.site} to the {mission.orbit} takes less than {needed:.0f} m/s even if "
            f"nothing is lost: short by at least {short:.0f} m/s. Add propellant or stages, raise "
            "the specific impulse, or take payload off.",
            shortfall=short,
        )
