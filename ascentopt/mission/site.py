"""Where the vehicle stands."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

from ascentopt.arguments import checked
from ascentopt.tables import in_a_line
from ascentopt.units import deg
from ascentopt.validation import finite, instance, within


@checked
@dataclass(frozen=True, kw_only=True)
class LaunchSite:
    """A place on the body: geodetic `latitude` and `longitude` in rad, `altitude` in m.

    Altitude counts from the body's ellipsoid, longitude eastward from the meridian of the body that
    lies on the inertial x axis when `Mission.lift_off_time` is 0. It matters only for an orbit
    whose ascending node is given. Raises `InputError`.
    """

    latitude: float
    altitude: float = 0.0
    longitude: float = 0.0
    name: str = ""

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        instance("LaunchSite", "name", self.name, (str,), "Give a text.")
        owner = f"LaunchSite {self.name!r}" if self.name else "LaunchSite"
        fix = "Give radians between -pi/2 and pi/2, for instance -12 * deg."
        within(owner, "latitude", self.latitude, "rad", (-pi / 2, pi / 2), fix)
        finite(owner, "altitude", self.altitude, "m", "Give metres above the ellipsoid.")
        fix = "Give radians between -2 pi and 2 pi, for instance 77 * deg."
        within(owner, "longitude", self.longitude, "rad", (-2 * pi, 2 * pi), fix)

    def __str__(self) -> str:
        label = f"{self.name}: " if self.name else ""
        return (
            f"{label}latitude {self.latitude / deg:.3f} deg, longitude "
            f"{self.longitude / deg:.3f} deg, altitude {self.altitude:.0f} m"
        )
