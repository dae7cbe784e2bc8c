"""Flights to draw: an optimum, and one steered by hand into about the same orbit."""

from __future__ import annotations

from dataclasses import dataclass
from functools import lru_cache
from math import cos, hypot, sin

import ascentopt as ao
from ascentopt.flight.guidance.ending import AtAirSpeed, AtApoapsis, AtApoapsisRadius, Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.report import Flown
from ascentopt.units import deg, km, kN, kPa, tonne
from ascentopt.world.orbital_elements import elements
from tests.flight.rockets import DRAG
from tests.optimal.launchers import earth_mission, lander, moon_mission

PLAN = ao.FlightPlan(inserting_stage=1, restarts=1, fairing_arc="second")
KICK = ao.Kick(at=AtAirSpeed(60.0), angle=3.8 * deg, heading=95 * deg)


def launcher(name: str = "Turnstone", stage: str = "second") -> ao.Vehicle:
    """An invented launcher of two stages, the upper one named at will."""
    return ao.Vehicle(
        name=name,
        payload_mass=1.1 * tonne,
        stages=(
            ao.Stage(
                name="first",
                propellant_mass=62 * tonne,
                dry_mass=4.8 * tonne,
                engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0),
            ),
            ao.Stage(
                name=stage,
                propellant_mass=11.5 * tonne,
                dry_mass=0.95 * tonne,
                engine=ao.Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0),
                restarts=1,
                ignition_delay=3.0,
            ),
        ),
        fairing=ao.Fairing(mass=320.0),
        aerodynamics=ao.Aerodynamics(reference_area=4.5, drag_coefficient=DRAG),
    )


def mission() -> ao.Mission:
    """To 300 km within 40 kPa and 150 kPa deg."""
    return earth_mission(dynamic_pressure=40 * kPa, q_alpha=150 * kPa * deg)


@dataclass(frozen=True)
class AtPeriapsisRadius(Ending):
    """When the periapsis of the osculating orbit rises to `radius` m from the centre."""

    radius: float

    def value(self, now: Moment) -> float:
        mu = now.body.gravitational_parameter
        return elements(mu, now.position, now.velocity).periapsis_radius / self.radius - 1.0


class ByHand(SteeringLaw):
    """A gravity turn of the first stage, then a pitch that falls with the clock."""

    def __init__(self, plan: ao.FlightPlan = PLAN, stage: str = "second") -> None:
        self.plan = plan
        self.turn = ao.GravityTurn(plan=plan, kick=KICK)
        target = ao.earth().radius + 300 * km
        self.endings: dict[str, Ending] = {
            f"{stage}, bare": AtApoapsisRadius(target),
            "coast 1": AtApoapsis(before=20.0),
            f"{stage} burn 2": AtPeriapsisRadius(target - 8 * km),
        }

    @property
    def phases(self) -> tuple[Ending, ...]:
        return self.turn.phases

    def command(self, now: Moment) -> Command:
        if now.arc.stage == 0:
            return self.turn.command(now)
        last = now.arc.name.endswith("burn 2")
        pitch = 0.0 if last else 25 * deg * max(1.0 - (now.time - 167.0) / 350.0, 0.0)
        east, north = float(now.velocity @ now.east), float(now.velocity @ now.north)
        along = cos(pitch) / hypot(east, north)
        return Command(now.inertial(sin(pitch), along * east, along * north))

    def ending(self, arc: FlightArc) -> Ending | None:
        return self.endings.get(arc.name)


@lru_cache(maxsize=1)
def optimum() -> ao.Ascent:
    """The least-propellant ascent, with a coast of most of a revolution."""
    return ao.optimize(launcher(), mission())


@lru_cache(maxsize=1)
def moon_ascent() -> ao.Ascent:
    """An ascent without air."""
    return ao.optimize(lander(), moon_mission())


@lru_cache(maxsize=4)
def by_hand(name: str = "Turnstone", stage: str = "second") -> Flown:
    """The same launcher, flown without an optimiser; its coast is short enough to be drawn."""
    vehicle, law = launcher(name, stage), ByHand(plan_for(stage), stage)
    return Flown.by_hand(vehicle, mission(), law, ao.fly(vehicle, mission(), law))


def plan_for(stage: str) -> ao.FlightPlan:
    """The plan with the fairing dropped during the first burn of a stage of that name."""
    return ao.FlightPlan(inserting_stage=1, restarts=1, fairing_arc=stage)
