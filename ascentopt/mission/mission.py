"""From where to where, within which limits; what contradicts itself is refused at once."""

from __future__ import annotations

from dataclasses import dataclass, field
from math import inf
from typing import get_args

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.mission.limits import FlightLimits
from ascentopt.mission.orbit import (
    CircularOrbit,
    EllipticalOrbit,
    Orbit,
    points_among_the_stars,
)
from ascentopt.mission.reserve import DeorbitReserve, Reserve
from ascentopt.mission.sensible import (
    ALTITUDE_IN_RADII,
    AXIAL_ACCELERATION_IN_WEIGHTS,
    DYNAMIC_PRESSURE_SHARE,
    RISE_IN_SCALE_HEIGHTS,
    VERTICAL_RISE,
)
from ascentopt.mission.site import LaunchSite
from ascentopt.tables import one_line, page
from ascentopt.units import deg, km
from ascentopt.validation import finite, instance, positive
from ascentopt.world.body import Body

# An inclination typed to the latitude's last digit is meant as "due east".
ANGLE_TOLERANCE = 1e-9  # rad


@checked
@dataclass(frozen=True, kw_only=True)
class Mission:
    """A launch from `site` on `body` to `orbit` within `limits`.

    `reserve` is propellant to be left after the insertion; None = none is asked for.
    `vertical_rise` (m) is the height to gain before the pitch-over may start; None = none. After it
    an optimal flight that would hug the ground keeps half of it above the site.
    `lift_off_time` is in s after the body's meridian of longitude zero lies on the inertial x axis,
    and matters only where the orbit's ascending node is given, or over the equator its argument of
    periapsis; None = when that costs least: the launch waits for its plane or its line of apsides,
    which the turning body brings round, and the answer's mission names the instant. (Where nothing
    is optimised, or the body does not turn, None is 0.) Raises `InputError` for what cannot be: an
    orbit inside the atmosphere or underground, a site outside the air's data.
    """

    body: Body
    site: LaunchSite
    orbit: Orbit
    limits: FlightLimits = field(default_factory=FlightLimits)
    vertical_rise: float | None = 100.0
    reserve: Reserve | None = None
    lift_off_time: float | None = None

    def __post_init__(self) -> None:
        instance("Mission", "body", self.body, (Body,), "Give a Body, for instance earth().")
        instance("Mission", "site", self.site, (LaunchSite,), "Give a LaunchSite.")
        kinds: tuple[type, ...] = (CircularOrbit, EllipticalOrbit)
        instance("Mission", "orbit", self.orbit, kinds, "Give one of these orbits.")
        instance("Mission", "limits", self.limits, (FlightLimits,), "Give FlightLimits().")
        kept = (*get_args(Reserve), type(None))
        fix = "Give a PropellantReserve, a DeorbitReserve or None."
        instance("Mission", "reserve", self.reserve, kept, fix)
        self._check_site()
        self._check_height()
        self._check_rise()
        self._check_reserve()
        self._check_limits()
        if self.lift_off_time is not None:
            fix = "Give seconds, or None to wait for the plane of the orbit."
            finite("Mission", "lift_off_time", self.lift_off_time, "s", fix)

    def __repr__(self) -> str:
        latitude = f"from latitude {self.site.latitude / deg:g} deg"
        return one_line(self, self.body.name, latitude, self.orbit)

    def _repr_html_(self) -> str:
        first, *lines = str(self).splitlines()
        return page(first, [str(self.body), *lines])

    def __str__(self) -> str:
        rise = "none" if self.vertical_rise is None else f"{self.vertical_rise:g} m"
        return (
            f"Mission from {self.body.name} to {self.orbit}\n  site: {self.site}\n"
            f"  limits: {self.limits}\n  vertical rise: {rise}"
            + (f"\n  reserve: {self.reserve}" if self.reserve is not None else "")
            + (f"\n  lift-off: {self._lift_off}" if self._lift_off else "")
        )

    @property
    def _lift_off(self) -> str:
        if self.lift_off_time is not None:
            return f"at {self.lift_off_time:g} s"
        if not points_among_the_stars(self.orbit):
            return ""
        node = self.orbit.ascending_node is not None
        return f"when its {'plane' if node else 'line of apsides'} comes round"

    @property
    def right_ascension(self) -> float:
        """Angle in rad from the inertial x axis to the site's meridian at lift-off."""
        return self.site.longitude + self.body.rotation_rate * (self.lift_off_time or 0.0)

    @property
    def floor(self) -> float:
        """Altitude in m that the orbit must stay above: the ceiling of the air, or the ground."""
        if self.body.atmosphere is not None:
            return self.body.atmosphere.ceiling
        return max(self.site.altitude, 0.0)

    def _check_site(self) -> None:
        air, altitude = self.body.atmosphere, self.site.altitude
        if altitude <= -self.body.polar_radius:
            raise InputError(
                f"Mission: site.altitude is {altitude!r} m, below the centre of {self.body.name}. "
                "Give metres above the ellipsoid."
            )
        if air is None:
            return
        if not air.bottom <= altitude < air.ceiling:
            raise InputError(
                f"Mission: site.altitude is {altitude!r} m; it must be between the bottom "
                f"({air.bottom:g} m) and the ceiling ({air.ceiling:g} m) of the atmosphere of "
                f"{self.body.name}. Correct the altitude, or give the body another atmosphere."
            )

    def _check_height(self) -> None:
        """Refuse an orbit whose periapsis cannot be above the floor."""
        highest = _highest_periapsis(self.orbit, self.body)
        height = highest - self.body.radius
        if height > self.floor:
            self._check_sense_of_height(height)
            return
        what = "the ground" if self.body.atmosphere is None else "the atmosphere's ceiling"
        raise InputError(
            f"Mission: orbit has its periapsis at {height / km:.6g} km "
            f"altitude or less; it must be above {what}, {self.floor / km:g} km on "
            f"{self.body.name}. Raise the orbit; altitudes are in metres, for instance 300 * km."
        )

    def _check_sense_of_height(self, height: float) -> None:
        if height == inf:
            return
        slip = f"It looks like km: write {height:g} * km."
        if height > self.body.radius:
            slip = "It looks like metres taken for km: write the altitude in metres once."
        name = f"orbit, with a periapsis at {height:g} m at most,"
        ALTITUDE_IN_RADII.check("Mission", name, height / self.body.radius, slip)

    def _check_limits(self) -> None:
        """Refuse, or warn of, limits that nothing keeps that flies from this body."""
        body, limits = self.body, self.limits
        gravity = body.gravitational_parameter / (body.radius + self.site.altitude) ** 2
        most, given = limits.axial_acceleration, limits.dynamic_pressure
        if most is not None:
            name = f"limits.axial_acceleration ({most:g} m/s^2)"
            slip = f"It looks like g: write {most:g} * g0."
            AXIAL_ACCELERATION_IN_WEIGHTS.check("Mission", name, most / gravity, slip)
        if given is not None and body.atmosphere is not None:
            air = body.atmosphere.state(self.site.altitude)
            share = given / float(0.5 * air.density * air.speed_of_sound**2)
            name = f"limits.dynamic_pressure ({given:g} Pa)"
            slip = f"It looks like kPa: write {given:g} * kPa."
            DYNAMIC_PRESSURE_SHARE.check("Mission", name, share, slip)

    def _check_reserve(self) -> None:
        """Refuse a periapsis from which nothing comes down."""
        if not isinstance(self.reserve, DeorbitReserve):
            return
        low, body = self.reserve.periapsis_altitude, self.body
        top = body.atmosphere.ceiling if body.atmosphere is not None else 0.0
        if not -body.radius < low < top:
            what = "the ground" if body.atmosphere is None else "the atmosphere's ceiling"
            raise InputError(
                f"Mission: reserve.periapsis_altitude is {low / km:.6g} km; it must be below "
                f"{what}, {top / km:g} km on {body.name}, and above the centre. Lower it."
            )

    def _check_rise(self) -> None:
        if self.vertical_rise is None:
            return
        fix = "Give the height in metres, or None for no vertical rise."
        positive("Mission", "vertical_rise", self.vertical_rise, "m", fix)
        top = self.site.altitude + self.vertical_rise
        highest = _highest_periapsis(self.orbit, self.body) - self.body.radius
        end = self.floor if self.body.atmosphere is not None else highest
        if top >= end:
            raise InputError(
                f"Mission: vertical_rise is {self.vertical_rise!r} m and ends at {top:g} m "
                f"altitude; it must end below {end:g} m. {fix}"
            )
        self._check_sense_of_rise(self.vertical_rise)

    def _check_sense_of_rise(self, rise: float) -> None:
        """Warn of a rise that is none, or goes on too long; once."""
        air = self.body.atmosphere
        if air is None or rise <= air.scale_height:
            VERTICAL_RISE.check("Mission", "vertical_rise", rise)
            return
        name, slip = f"vertical_rise ({rise:g} m)", VERTICAL_RISE.if_high(rise)
        RISE_IN_SCALE_HEIGHTS.check("Mission", name, rise / air.scale_height, slip)


def _highest_periapsis(orbit: Orbit, body: Body) -> float:
    """Return the greatest periapsis radius in m that the known elements allow."""
    known = (
        orbit.periapsis_radius_around(body),
        orbit.semi_major_axis_around(body),
        orbit.apoapsis_radius_around(body),
    )
    return min((value for value in known if value is not None), default=inf)
