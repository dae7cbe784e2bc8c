"""When an arc, or a phase of a steering law, ends: one small class for each way."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from ascentopt.arguments import asked, checked, is_ours
from ascentopt.flight.guidance.moment import Moment
from ascentopt.units import km
from ascentopt.validation import finite, named, not_negative, positive, require
from ascentopt.world.body import Body
from ascentopt.world.orbital_elements import (
    apoapsis_radius,
    climb_left,
    periapsis_radius,
    time_to_apoapsis,
    time_to_next_apoapsis,
)


class Ending(ABC):
    """Something that comes true once in the flight.

    To add a way to end: write its class here, with a `value` that is smooth where it crosses zero.
    """

    @abstractmethod
    def value(self, now: Moment) -> float:
        """A number that is negative before the end and rises through zero at it.

        An arc on which it is not negative at the start ends at once.
        """

    def check_around(self, body: Body) -> None:  # noqa: B027 (most have nothing to refuse)
        """Refuse an end that no flight around the body comes to. Raises `InputError`."""

    @property
    def duration(self) -> float | None:
        """Seconds that are known beforehand, or None."""
        return None

    @property
    def missed(self) -> str:
        """What is said of an arc that should have ended so and did not."""
        return f"did not come to its end ({self})"


def value_of(ending: Ending, now: Moment) -> float:
    """The value of an ending, whoever wrote it. Raises `InputError` where it fails or is none."""
    if is_ours(ending):
        return ending.value(now)
    owner = f"ending {type(ending).__name__}, {now.time:.3f} s after lift-off"
    found = asked(owner, "value", ending.value, now)
    finite(owner, "value", found, "", "Return a number that is negative before the end.")
    return float(found)


@checked
@dataclass(frozen=True)
class AfterDuration(Ending):
    """A number of `seconds` after the start."""

    seconds: float

    def __post_init__(self) -> None:
        not_negative("AfterDuration", "seconds", self.seconds, "s", "Give a time span.")

    @property
    def duration(self) -> float:
        """The seconds."""
        return self.seconds

    def __str__(self) -> str:
        return f"{self.seconds:.2f} s after the arc began"

    def value(self, now: Moment) -> float:
        """Seconds overdue, counted from the start of the arc."""
        return now.elapsed - self.seconds


@checked
@dataclass(frozen=True)
class AfterPhaseDuration(Ending):
    """A number of `seconds` after the present phase of a steering law began."""

    seconds: float

    def __post_init__(self) -> None:
        not_negative("AfterPhaseDuration", "seconds", self.seconds, "s", "Give a time span.")

    def __str__(self) -> str:
        return f"{self.seconds:.2f} s after the phase began"

    def value(self, now: Moment) -> float:
        """Seconds overdue."""
        return now.phase_elapsed - self.seconds


@checked
@dataclass(frozen=True)
class AtAltitude(Ending):
    """When the altitude rises to `altitude` m above the ellipsoid."""

    altitude: float

    def __post_init__(self) -> None:
        finite("AtAltitude", "altitude", self.altitude, "m", "Give metres above the ellipsoid.")

    def __str__(self) -> str:
        return f"{self.altitude / km:.3f} km of altitude, climbing"

    def value(self, now: Moment) -> float:
        """Metres above it."""
        return now.altitude - self.altitude


@checked
@dataclass(frozen=True)
class DownToAltitude(Ending):
    """When the altitude falls to `altitude` m above the ellipsoid."""

    altitude: float

    def __post_init__(self) -> None:
        fix = "Give metres above the ellipsoid."
        finite("DownToAltitude", "altitude", self.altitude, "m", fix)

    def __str__(self) -> str:
        return f"{self.altitude / km:.3f} km of altitude, coming down"

    def value(self, now: Moment) -> float:
        """Metres below it."""
        return self.altitude - now.altitude


@checked
@dataclass(frozen=True)
class AtAirSpeed(Ending):
    """When the speed relative to the air rises to `speed` m/s."""

    speed: float

    def __post_init__(self) -> None:
        not_negative("AtAirSpeed", "speed", self.speed, "m/s", "Give metres per second.")

    def __str__(self) -> str:
        return f"{self.speed:.1f} m/s in the air"

    def value(self, now: Moment) -> float:
        """Metres per second above it."""
        return now.air_speed - self.speed


@checked
@dataclass(frozen=True)
class AfterDurationOrEmpty(Ending):
    """A number of `seconds` after the start, or when all is burned, whichever comes first."""

    seconds: float

    def __post_init__(self) -> None:
        not_negative("AfterDurationOrEmpty", "seconds", self.seconds, "s", "Give a time span.")

    @property
    def duration(self) -> float:
        """The seconds, at most."""
        return self.seconds

    def __str__(self) -> str:
        return f"{self.seconds:.2f} s after the arc began, or all burned"

    def value(self, now: Moment) -> float:
        """Seconds overdue; whoever flies sees to the tank."""
        return now.elapsed - self.seconds


@checked
@dataclass(frozen=True)
class AtEmpty(Ending):
    """When everything that can burn during the arc is burned."""

    def __str__(self) -> str:
        return "all burned"

    def value(self, now: Moment) -> float:
        """Kilograms burned beyond that."""
        return now.arc.least_mass - now.mass


def _beside(place: str, before: float) -> str:
    """Some seconds short of a place, or beyond it."""
    side = "before" if before > 0.0 else "after"
    return f"{abs(before):.2f} s {side} {place}" if before else place


def _check_radius(owner: str, radius: float, body: Body, least: float) -> None:
    """Refuse what is less than `least` m from the centre: an altitude, most likely."""
    rule = f"at least {least:.7g} m, as the radius of {body.name} is {body.radius:.7g} m"
    fix = f"It looks like an altitude: write {body.radius:.7g} + {radius:g}."
    require(owner, "radius", radius, "m", rule, fix, holds=radius >= least)


@checked
@dataclass(frozen=True)
class AtApoapsisRadius(Ending):
    """When the apoapsis of the osculating orbit rises to `radius` m from the centre."""

    radius: float

    def __post_init__(self) -> None:
        fix = "Give metres from the centre of the body."
        positive("AtApoapsisRadius", "radius", self.radius, "m", fix)

    def check_around(self, body: Body) -> None:
        """Refuse an apoapsis underground, where every flight begins above it."""
        _check_radius("AtApoapsisRadius", self.radius, body, body.polar_radius)

    @property
    def missed(self) -> str:
        """An engine that burned out."""
        return f"burns out before its apoapsis is {self.radius / km:.0f} km from the centre"

    def __str__(self) -> str:
        return f"apoapsis {self.radius / km:.3f} km from the centre"

    def value(self, now: Moment) -> float:
        """What is left of the climb at that radius, by the energy of a circle there; below it.

        Half the square of the speed up that a coast still has there, negative where it does not
        come so high: unlike the apoapsis that is as smooth towards escape as anywhere.
        """
        mu, (position, velocity) = now.body.gravitational_parameter, (now.position, now.velocity)
        if float(position @ position) >= self.radius**2:
            return 1.0 - self.radius / apoapsis_radius(mu, position, velocity)
        return climb_left(mu, self.radius, position, velocity) * self.radius / mu


@checked
@dataclass(frozen=True)
class AtPeriapsisRadius(Ending):
    """When the periapsis of the osculating orbit falls to `radius` m from the centre."""

    radius: float

    def __post_init__(self) -> None:
        fix = "Give metres from the centre of the body."
        positive("AtPeriapsisRadius", "radius", self.radius, "m", fix)

    def check_around(self, body: Body) -> None:
        """Refuse a periapsis deep underground.

        To come down on a body without air it lies below the ground, by a few per cent of the
        radius. Half of the radius takes 18 % of the orbital speed, which no deorbit burn has.
        """
        _check_radius("AtPeriapsisRadius", self.radius, body, 0.5 * body.radius)

    def __str__(self) -> str:
        return f"periapsis {self.radius / km:.3f} km from the centre"

    def value(self, now: Moment) -> float:
        """How far the periapsis lies too low, as a fraction of the radius."""
        mu = now.body.gravitational_parameter
        return 1.0 - periapsis_radius(mu, now.position, now.velocity) / self.radius


@checked
@dataclass(frozen=True)
class AtApoapsis(Ending):
    """At the apoapsis, or `before` seconds short of it, on the osculating orbit.

    A vehicle that is already past the apoapsis and on its way down ends at once.
    """

    before: float = 0.0

    def __post_init__(self) -> None:
        not_negative("AtApoapsis", "before", self.before, "s", "Give a time span.")

    def __str__(self) -> str:
        return _beside("the apoapsis", self.before)

    def value(self, now: Moment) -> float:
        """Seconds overdue."""
        mu = now.body.gravitational_parameter
        return self.before - time_to_apoapsis(mu, now.position, now.velocity)


@checked
@dataclass(frozen=True)
class AtNextApoapsis(Ending):
    """At the next apoapsis, or `before` seconds short of it (beyond it, if negative).

    Unlike `AtApoapsis` it looks ahead past a periapsis: an apoapsis counts as passed for a quarter
    of a revolution only.
    """

    before: float = 0.0

    def __post_init__(self) -> None:
        finite("AtNextApoapsis", "before", self.before, "s", "Give a time span.")

    def __str__(self) -> str:
        return _beside("the next apoapsis", self.before)

    def value(self, now: Moment) -> float:
        """Seconds overdue."""
        left = time_to_next_apoapsis(now.body.gravitational_parameter, now.position, now.velocity)
        return self.before - left


@checked
@dataclass(frozen=True)
class AtBeginOf(Ending):
    """When the arc called `arc` begins; for phases of a law, which go on from arc to arc."""

    arc: str

    def __post_init__(self) -> None:
        named("AtBeginOf", self.arc, "Give the name of an arc, as a flight's events tell it.")

    def __str__(self) -> str:
        return f"begin of {self.arc!r}"

    def value(self, now: Moment) -> float:
        """One on the arc, minus one on all others."""
        return 1.0 if now.arc.name == self.arc else -1.0


@checked
@dataclass(frozen=True)
class BelowHeating(Ending):
    """When free-molecular heating, half rho v^3, has fallen to `limit` W/m^2."""

    limit: float

    def __post_init__(self) -> None:
        positive("BelowHeating", "limit", self.limit, "W/m^2", "Give the fairing's limit.")

    def __str__(self) -> str:
        return f"heating down to {self.limit:.4g} W/m^2"

    def value(self, now: Moment) -> float:
        """Fraction of the limit that is left."""
        return 1.0 - now.heating / self.limit
