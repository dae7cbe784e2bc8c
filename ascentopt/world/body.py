"""Bodies to launch from."""

from __future__ import annotations

from dataclasses import dataclass
from math import hypot, inf, pi, sqrt

from ascentopt.arguments import checked
from ascentopt.tables import one_line
from ascentopt.units import deg, km
from ascentopt.validation import finite, instance, named, positive, require, within
from ascentopt.world.atmosphere import Atmosphere
from ascentopt.world.sensible import (
    DENSITY_AT_CEILING,
    GRAVITATIONAL_CONSTANT,
    GROUND_DENSITY,
    HYDROSTATIC,
    MEAN_DENSITY,
    ORBITAL_SPEED,
    RADIUS,
    SCALE_HEIGHT_IN_RADII,
    SPEED_OF_SOUND,
    SURFACE_GRAVITY,
    WIND_MACH,
)
from ascentopt.world.weather.table_sense import check_weight
from ascentopt.world.wind import Wind

_DAY = 86400.0  # s


@checked
@dataclass(frozen=True, kw_only=True)
class Body:
    """A planet or moon that spins about its z axis.

    `gravitational_parameter` m^3/s^2, equatorial `radius` m, `rotation_rate` rad/s (negative for a
    retrograde spin), `j2` the oblateness coefficient for that radius, `flattening` of the
    ellipsoid that altitudes count from (zero = sphere). An `atmosphere` that awaits its body's
    gravity (`Atmosphere.exponential`) is kept in equilibrium under it. Raises `InputError`.
    """

    name: str
    gravitational_parameter: float
    radius: float
    rotation_rate: float
    atmosphere: Atmosphere | None = None
    j2: float = 0.0
    flattening: float = 0.0

    def __post_init__(self) -> None:
        named("Body", self.name, "Give the body a name.")
        owner = f"Body {self.name!r}"
        mu = self.gravitational_parameter
        positive(owner, "gravitational_parameter", mu, "m^3/s^2", "Give G times the mass.")
        positive(owner, "radius", self.radius, "m", "Give the equatorial radius in metres.")
        RADIUS.check(owner, "radius", self.radius)
        fix = "Give the spin in radians per second; 0 for none."
        finite(owner, "rotation_rate", self.rotation_rate, "rad/s", fix)
        self._check_gravity(owner)
        spin = abs(self.rotation_rate) * sqrt(self.radius**3 / mu)
        require(
            owner,
            "rotation_rate",
            self.rotation_rate,
            "rad/s",
            "slower than a surface orbit",
            fix if spin < 1.0 else f"{_spin_slip(self.rotation_rate, mu / self.radius**3)}{fix}",
            holds=spin < 1.0,
        )
        # A body with more oblateness or flattening than this is no near-sphere, and the closed
        # forms used for altitude and gravity lose their meaning.
        fix = "Give the unnormalised coefficient, about 1e-3 for Earth; 0 for a sphere."
        if 0.1 < self.j2 < 1e5:
            fix = f"It looks like millionths: write {self.j2:g}e-6. {fix}"
        within(owner, "j2", self.j2, "", (-0.1, 0.1), fix)
        fix = "Give 1 - polar radius / equatorial radius, about 3e-3 for Earth; 0 for a sphere."
        if self.flattening > 1.0:
            fix = f"It looks like its inverse: write 1 / {self.flattening:g}. {fix}"
        within(owner, "flattening", self.flattening, "", (0.0, 0.2), fix)
        kinds = (Atmosphere, type(None))
        instance(owner, "atmosphere", self.atmosphere, kinds, "Give an Atmosphere or None.")
        if self.atmosphere is not None:
            settled = self.atmosphere.under_gravity(self.surface_gravity)
            object.__setattr__(self, "atmosphere", settled)
            self._check_air(owner, settled)

    def _check_gravity(self, owner: str) -> None:
        """Refuse, or warn of, a mass and a radius that do not go together."""
        mu, radius = self.gravitational_parameter, self.radius
        told = f"radius {radius:g} m and gravitational_parameter {mu:g} m^3/s^2"
        slip = f"Give both in metres: {radius:g} * km, or {mu:g} * km**3, if they are in km."
        density = 3.0 * mu / (4.0 * pi * GRAVITATIONAL_CONSTANT * radius**3)
        MEAN_DENSITY.check(owner, f"mean density, of {told},", density, slip)
        SURFACE_GRAVITY.check(owner, f"gravity, of {told},", mu / radius**2, slip)
        slip = f"Both look like km: write {radius:g} * km and {mu:g} * km**3."
        ORBITAL_SPEED.check(owner, f"orbital speed, of {told},", sqrt(mu / radius), slip)

    def _check_air(self, owner: str, air: Atmosphere) -> None:
        """Refuse, or warn of, air that this body cannot hold, or that is no gas."""
        ground = air.state(0.0)
        GROUND_DENSITY.check(owner, "density of the atmosphere at altitude zero", ground.density)
        above = float(air.density(air.ceiling)) / float(ground.density)
        slip = _ceiling_slip(air)
        DENSITY_AT_CEILING.check(owner, f"density at the ceiling ({air.ceiling:g} m)", above, slip)
        self._check_height(owner, air.scale_height)
        slip = "Give temperatures in kelvins, pressures in Pa, densities in kg/m^3."
        name = "speed of sound of the atmosphere at altitude zero"
        SPEED_OF_SOUND.check(owner, name, ground.speed_of_sound, slip)
        tables = air.log_density, air.log_pressure
        check_weight(owner, *tables, self.surface_gravity, self.radius)
        if air.wind is not None:
            _check_wind(owner, air, air.wind)

    def _check_height(self, owner: str, height: float) -> None:
        """Refuse, or warn of, a scale height that its gravity, or its radius, does not go with."""
        if not 0.0 < height < inf:
            return
        name = f"atmosphere with a scale height of {height:g} m at altitude zero"
        slip = f"It looks like km: write {height:.3g} * km, and altitudes of tables in metres."
        HYDROSTATIC.check(owner, name, self.surface_gravity * height, slip)
        slip = f"Give heights in metres, and the radius, {self.radius:g} m."
        SCALE_HEIGHT_IN_RADII.check(owner, name, height / self.radius, slip)

    def __repr__(self) -> str:
        air = "no air" if self.atmosphere is None else self.atmosphere.name
        return one_line(self, repr(self.name), f"radius {self.radius / km:.1f} km", air)

    def __str__(self) -> str:
        air = "no air" if self.atmosphere is None else str(self.atmosphere)
        return f"{self.name}: radius {self.radius / km:.1f} km, {air}"

    @property
    def surface_gravity(self) -> float:
        """Gravity at the equatorial radius in m/s^2, the spin left aside."""
        return self.gravitational_parameter / self.radius**2

    @property
    def polar_radius(self) -> float:
        """Polar radius of the ellipsoid in m."""
        return self.radius * (1.0 - self.flattening)


def _check_wind(owner: str, air: Atmosphere, wind: Wind) -> None:
    """Warn of a wind that the warmth of its air does not drive."""
    points = zip(wind.altitude, wind.eastward, wind.northward, strict=True)
    speeds = [(hypot(east, north), height) for height, east, north in points]
    machs = [(fast / float(air.speed_of_sound(height)), fast, height) for fast, height in speeds]
    mach, fast, height = max(machs)
    name = f"wind of {fast:g} m/s at {height:g} m"
    WIND_MACH.check(owner, name, mach, f"It looks like km/h: write {fast:g} / 3.6.")


def _ceiling_slip(air: Atmosphere) -> str:
    """The likely slip of a ceiling at which the air is dense.

    Ceilings are 5 to 20 scale heights, so a number of kilometres is 0.005 to 0.02 of them. Anything
    else is no matter of kilometres.
    """
    if air.scale_height < inf and air.ceiling < 0.05 * air.scale_height:
        return f"The ceiling looks like km: write {air.ceiling:g} * km."
    return (
        "Give the altitude in metres above which orbits are free of drag; if that is right, the "
        "densities or altitudes of the air are not."
    )


def _spin_slip(rate: float, circling: float) -> str:
    """The likely slip of a body that spins faster than its ground could: rad/s squared `circling`.

    A day in seconds or hours, or degrees.
    """
    if abs(rate) < 1.0 and (rate * deg) ** 2 < circling:
        return f"It looks like degrees per second: write {rate:g} * deg. "
    return f"It looks like the length of a day: write 2 * pi / {rate:g}, in seconds. "


def earth() -> Body:
    """Return the Earth with its standard atmosphere.

    Gravitational parameter, radius, flattening and rotation rate: WGS 84 (NGA.STND.0036, 2014);
    J2 = 1.08262668e-3: EGM96 (Lemoine et al., NASA/TP-1998-206861); air: U.S. Standard Atmosphere,
    1976.
    """
    return Body(
        name="Earth",
        gravitational_parameter=3.986004418e14,
        radius=6378137.0,
        rotation_rate=7.292115e-5,
        atmosphere=Atmosphere.standard_1976(),
        j2=1.08262668e-3,
        flattening=1.0 / 298.257223563,
    )


def mars() -> Body:
    """Return Mars with an exponential atmosphere.

    Gravitational parameter 42828.37 km^3/s^2, J2 1960.45e-6, surface density about 0.020 kg/m^3,
    scale height 11.1 km, mean temperature about 210 K, molecular weight 43.34: NASA GSFC planetary
    fact sheet for Mars (from memory). Radii 3396.19 and 3376.20 km and spin 350.89198226 deg/day:
    IAU working group report 2009 (Archinal et al., Celest. Mech. Dyn. Astr. 109, 2011; from
    memory).
    Isothermal air is an approximation: within tens of per cent near the ground, a factor of a few
    above 80 km, seasons and dust apart. Heat capacity ratio 1.3 for carbon dioxide, and a ceiling
    of 125 km, where entries are reckoned to begin: common practice, no source.
    """
    air = Atmosphere.exponential(
        surface_density=0.020,
        scale_height=11.1 * km,
        ceiling=125 * km,
        surface_temperature=210.0,
        gas_constant=8314.46 / 43.34,
        heat_capacity_ratio=1.3,
    )
    return Body(
        name="Mars",
        gravitational_parameter=4.282837e13,
        radius=3396.19 * km,
        rotation_rate=350.89198226 * deg / _DAY,
        atmosphere=air,
        j2=1.96045e-3,
        flattening=(3396.19 - 3376.20) / 3396.19,
    )


def moon() -> Body:
    """Return the Moon: no air, a sphere for altitudes, gravity with J2.

    Gravitational parameter 4902.80 km^3/s^2 and J2 202.7e-6: NASA GSFC Moon fact sheet (from
    memory); radius 1737.4 km and spin 13.17635815 deg/day: IAU working group report 2009 (Archinal
    et al., Celest. Mech. Dyn. Astr. 109, 2011; from memory).
    """
    return Body(
        name="Moon",
        gravitational_parameter=4.9028e12,
        radius=1737.4 * km,
        rotation_rate=13.17635815 * deg / _DAY,
        j2=2.027e-4,
    )
