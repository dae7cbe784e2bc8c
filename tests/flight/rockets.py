"""Invented vehicles and missions that the tests fly."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import CircularOrbit, FlightLimits, LaunchSite, Mission
from ascentopt.rocket import (
    Aerodynamics,
    BoosterGroup,
    DragCurve,
    Engine,
    Fairing,
    SolidMotor,
    Stage,
    Vehicle,
)
from ascentopt.units import deg, km, kN
from ascentopt.world import Atmosphere, Body, earth

DRAG = DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)
SOLID = SolidMotor(
    time=(0.0, 5.0, 40.0, 60.0),
    vacuum_thrust=(400 * kN, 460 * kN, 380 * kN, 150 * kN),
    vacuum_isp=270.0,
    sea_level_isp=240.0,
)
SMALL_CORE = Stage(
    name="core",
    propellant_mass=30e3,
    dry_mass=2.4e3,
    engine=Engine(vacuum_thrust=480 * kN, vacuum_isp=320.0, sea_level_thrust=430 * kN),
)
UPPER = Stage(
    name="upper",
    propellant_mass=5.2e3,
    dry_mass=600.0,
    engine=Engine(vacuum_thrust=60 * kN, vacuum_isp=345.0, exit_area=0.4, min_throttle=0.5),
    restarts=1,
    ignition_delay=2.0,
)


def plain() -> Vehicle:
    """Two stages with a fairing."""
    return Vehicle(
        name="Wren",
        payload_mass=500.0,
        stages=(SMALL_CORE, UPPER),
        fairing=Fairing(mass=120.0),
        aerodynamics=Aerodynamics(
            reference_area=3.0, drag_coefficient=DRAG, normal_force_slope=2.5
        ),
    )


def boosted() -> Vehicle:
    """Solid and liquid boosters on two clocks beside a core that can throttle."""
    core = replace(
        SMALL_CORE,
        engine=Engine(
            vacuum_thrust=480 * kN, vacuum_isp=320.0, sea_level_isp=285.0, min_throttle=0.6
        ),
    )
    solids = BoosterGroup(
        name="solids", count=2, propellant_mass=SOLID.propellant_mass, dry_mass=900.0, engine=SOLID
    )
    liquids = BoosterGroup(
        name="liquids",
        count=3,
        propellant_mass=3e3,
        dry_mass=350.0,
        engine=Engine(vacuum_thrust=150 * kN, vacuum_isp=300.0, exit_area=0.3),
        ignition_time=10.0,
    )
    return replace(plain(), name="Heron", stages=(core, UPPER), boosters=(solids, liquids))


def solid_first() -> Vehicle:
    """A solid first stage under a liquid one."""
    first = Stage(
        name="motor",
        propellant_mass=SOLID.scaled_to(30e3).propellant_mass,
        dry_mass=2.5e3,
        engine=SOLID.scaled_to(30e3),
    )
    return replace(plain(), name="Plover", stages=(first, UPPER))


def mission(body: Body | None = None, *, latitude: float = -12 * deg) -> Mission:
    """To 300 km, with a vertical rise of 100 m."""
    planet = body if body is not None else earth()
    return Mission(
        body=planet,
        site=LaunchSite(latitude=latitude, altitude=40.0, longitude=0.3),
        orbit=CircularOrbit(altitude=300 * km),
        limits=FlightLimits(),
    )


def globe(
    *,
    gravity: float = 9.8,
    radius: float = 6.4e6,
    atmosphere: Atmosphere | None = None,
    rotation_rate: float = 0.0,
    j2: float = 0.0,
) -> Body:
    """A sphere with a given gravity at its surface."""
    return Body(
        name="Globe",
        gravitational_parameter=gravity * radius**2,
        radius=radius,
        rotation_rate=rotation_rate,
        atmosphere=atmosphere,
        j2=j2,
    )


class Leaning(SteeringLaw):
    """Leans from the vertical towards a heading, at `rate` at first and to 1.6 rad in the end."""

    def __init__(
        self,
        plan: FlightPlan,
        endings: dict[str, Ending],
        *,
        rate: float = 0.4 * deg,
        heading: float = np.pi / 2,
        throttle: float = 1.0,
    ) -> None:
        self.plan = plan
        self.endings = endings
        self.rate, self.heading, self.throttle = rate, heading, throttle

    def command(self, now: Moment) -> Command:
        lean = 1.6 * np.tanh(self.rate * now.time / 1.6)
        east = np.sin(lean) * np.sin(self.heading)
        north = np.sin(lean) * np.cos(self.heading)
        share = self.throttle if now.arc.kind.throttled else 1.0
        return Command(now.inertial(float(np.cos(lean)), float(east), float(north)), share)

    def ending(self, arc: FlightArc) -> Ending | None:
        return self.endings.get(arc.name)


def zero_start(first: float) -> Vehicle:
    """Three stages on a solid motor that builds up from a thrust in N to 450 kN in 0.4 s."""
    motor = SolidMotor(
        time=(0.0, 0.4, 60.0, 120.0, 124.0),
        vacuum_thrust=(first, 450 * kN, 500 * kN, 400 * kN, 50 * kN),
        vacuum_isp=275.0,
        sea_level_isp=245.0,
    )
    second, third = (
        Engine(vacuum_thrust=110 * kN, vacuum_isp=330.0),
        Engine(vacuum_thrust=12 * kN, vacuum_isp=335.0),
    )
    return Vehicle(
        name="Dipper",
        payload_mass=150.0,
        stages=(
            Stage(
                name="solid", propellant_mass=motor.propellant_mass, dry_mass=2500.0, engine=motor
            ),
            Stage(name="second", propellant_mass=6000.0, dry_mass=500.0, engine=second),
            Stage(name="third", propellant_mass=900.0, dry_mass=120.0, engine=third, restarts=1),
        ),
        aerodynamics=Aerodynamics(reference_area=1.8, drag_coefficient=0.35),
    )
