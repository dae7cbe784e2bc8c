"""Vehicles and missions that the tests of the main job share."""

from __future__ import annotations

from dataclasses import dataclass
from math import pi

import ascentopt as ao
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, kPa, tonne
from ascentopt.world import geocentric_latitude
from tests.flight.rockets import DRAG


@dataclass(frozen=True, kw_only=True)
class Launch:
    """A vehicle and its mission."""

    vehicle: ao.Vehicle
    mission: ao.Mission

    def __str__(self) -> str:
        return self.vehicle.name

    def optimum(self) -> ao.Ascent:
        """The default answer."""
        return ao.optimize(self.vehicle, self.mission)


def due_east(body: ao.Body, site: ao.LaunchSite) -> float:
    """Least inclination in rad of all orbits over a site."""
    return abs(geocentric_latitude(body, site.latitude, site.altitude))


def scaled_drag(factor: float) -> ao.DragCurve:
    """So many times the drag of a slender launcher."""
    return ao.DragCurve(mach=DRAG.mach, cd=tuple(factor * value for value in DRAG.cd))


def _engine(thrust: float, propellant: float, burn_time: float) -> ao.Engine:
    isp = thrust * burn_time / (STANDARD_GRAVITY * propellant)
    return ao.Engine(vacuum_thrust=thrust, vacuum_isp=isp)


def four_phase_launcher(payload: float = 4164.0) -> ao.Vehicle:
    """D. A. Benson, PhD thesis, MIT, 2004; J. T. Betts, *Practical Methods for Optimal Control and
    Estimation Using Nonlinear Programming*, 2nd ed., SIAM 2010, sec. 6.15."""
    solid = _engine(628500.0, 17010.0, 75.2)
    boosters = [
        ao.BoosterGroup(name=name, count=count, propellant_mass=17010.0, dry_mass=2280.0,
                        engine=solid, ignition_time=lit)
        for name, count, lit in (("six", 6, 0.0), ("three", 3, 75.2))
    ]  # fmt: skip
    stages = (
        ao.Stage(name="stage 1", propellant_mass=95550.0, dry_mass=8830.0,
                 engine=_engine(1083100.0, 95550.0, 261.0)),
        ao.Stage(name="stage 2", propellant_mass=16820.0, dry_mass=2480.0,
                 engine=_engine(110094.0, 16820.0, 700.0)),
    )  # fmt: skip
    return ao.Vehicle(
        name="four-phase launcher",
        payload_mass=payload,
        stages=stages,
        boosters=boosters,
        aerodynamics=ao.Aerodynamics(reference_area=4.0 * pi, drag_coefficient=0.5),
    )


def four_phase_mission() -> ao.Mission:
    """The transfer orbit of the same sources."""
    air = ao.Atmosphere.exponential(
        surface_density=1.225, scale_height=7200.0, ceiling=100 * km, surface_temperature=288.15
    )
    body = ao.Body(
        name="Earth of the published problem",
        gravitational_parameter=3.986012e14,
        radius=6378145.0,
        rotation_rate=7.29211585e-5,
        atmosphere=air,
    )
    orbit = ao.EllipticalOrbit(
        semi_major_axis=24361140.0,
        eccentricity=0.7308,
        inclination=28.5 * deg,
        ascending_node=269.8 * deg,
        argument_of_periapsis=130.5 * deg,
    )
    return ao.Mission(
        body=body,
        site=ao.LaunchSite(latitude=28.5 * deg),
        orbit=orbit,
        limits=ao.FlightLimits.none(),
        vertical_rise=None,
        lift_off_time=0.0,
    )


def lander(thrust: float = 40 * kN) -> ao.Vehicle:
    """An invented ascent stage for an airless moon."""
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=320.0)
    stage = ao.Stage(
        name="ascent", propellant_mass=5.2 * tonne, dry_mass=1.3 * tonne, engine=engine, restarts=1
    )
    return ao.Vehicle(name="Sanderling", payload_mass=1.0 * tonne, stages=(stage,))


def moon_mission(latitude: float = 10 * deg) -> ao.Mission:
    """From the Moon to a circle at 100 km."""
    return ao.Mission(
        body=ao.moon(),
        site=ao.LaunchSite(latitude=latitude),
        orbit=ao.CircularOrbit(altitude=100 * km),
    )


def earth_mission(**limits: float | None) -> ao.Mission:
    """From an invented pad to a circle at 300 km."""
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=-12 * deg, altitude=40.0),
        orbit=ao.CircularOrbit(altitude=300 * km),
        limits=ao.FlightLimits(**(limits or {"dynamic_pressure": 40 * kPa})),
    )


def small_launcher() -> ao.Vehicle:
    """Two liquid stages, the second of which can be lit again."""
    first = ao.Engine(vacuum_thrust=190 * kN, vacuum_isp=303.0, sea_level_isp=265.0)
    second = ao.Engine(vacuum_thrust=22 * kN, vacuum_isp=330.0)
    return ao.Vehicle(
        name="Smew",
        payload_mass=80.0,
        stages=(
            ao.Stage(name="a", propellant_mass=9000.0, dry_mass=900.0, engine=first),
            ao.Stage(name="b", propellant_mass=1900.0, dry_mass=200.0, engine=second, restarts=1,
                     ignition_delay=3.0),
        ),
        aerodynamics=ao.Aerodynamics(reference_area=1.3, drag_coefficient=0.4),
    )  # fmt: skip


def launcher_with_a_fairing() -> ao.Vehicle:
    """Two stages, the second of which throttles and can be lit again."""
    stages = (
        ao.Stage(name="first", propellant_mass=190 * tonne, dry_mass=14 * tonne,
                 engine=ao.Engine(vacuum_thrust=3300 * kN, vacuum_isp=312, sea_level_isp=283)),
        ao.Stage(name="second", propellant_mass=42 * tonne, dry_mass=3.2 * tonne, restarts=1,
                 engine=ao.Engine(vacuum_thrust=420 * kN, vacuum_isp=348, min_throttle=0.5)),
    )  # fmt: skip
    return ao.Vehicle(
        name="Corncrake",
        payload_mass=5 * tonne,
        stages=stages,
        fairing=ao.Fairing(mass=1.7 * tonne),
        aerodynamics=ao.Aerodynamics(reference_area=10, drag_coefficient=0.35),
    )


def to_an_ellipse_from(latitude: float, orbit: ao.EllipticalOrbit, pressure: float) -> ao.Mission:
    """Of the Earth, within a limit on dynamic pressure in Pa; the latitude in rad."""
    limits, site = ao.FlightLimits(dynamic_pressure=pressure), ao.LaunchSite(latitude=latitude)
    return ao.Mission(body=ao.earth(), site=site, orbit=orbit, limits=limits)
