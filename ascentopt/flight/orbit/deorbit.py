"""The burn against the motion that lowers the periapsis, and the way down after it."""

from __future__ import annotations

from dataclasses import dataclass
from math import inf, sqrt

import numpy as np

from ascentopt.flight.guidance.ending import (
    AfterDuration,
    AtPeriapsisRadius,
    DownToAltitude,
    Ending,
)
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.orbit.orbiting import OrbitingStage
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.arc_parameters import arc_parameters
from ascentopt.flight.phases.sequence import FlightArc, Joint, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.simulation.simulate import simulate
from ascentopt.rocket import DragCurve
from ascentopt.typing import Floats
from ascentopt.world import Body
from ascentopt.world.orbital_elements import speed_on_orbit

WAIT, BURN, DOWN = "coast to the deorbit burn", "deorbit burn", "way down"
"""Names of the three arcs."""

# Whether the propellant suffices is asked after the burn was flown: the flight itself may burn
# into the dry mass, to this fraction of it.
_DEEPEST = 0.1

# A lowered orbit is shorter than the one it was lowered from; oblateness may add per mille.
_ONE_REVOLUTION = 1.02


def entry_altitude(body: Body) -> float:
    """Altitude in m at which the way home ends: the ceiling of the air, or the ground."""
    return body.atmosphere.ceiling if body.atmosphere is not None else 0.0


def deorbit_impulse(
    mu: float, position: Floats, velocity: Floats, periapsis_radius: float
) -> float:
    """Speed in m/s that an impulse against the motion takes off to lower the periapsis.

    The impulse leaves the place and the direction of motion, at an angle gamma above the
    horizontal. With r the radius there and p the radius of the periapsis, energy and angular
    momentum (vis-viva) are the same at both:

        v'^2/2 - mu/r = (v' r cos(gamma) / p)^2 / 2 - mu/p
        v'^2 = 2 mu (1/p - 1/r) / ((r cos(gamma) / p)^2 - 1)

    Args:
        mu: gravitational parameter, m^3/s^2.
        position, velocity: (3,) inertial; the periapsis must lie above the one wanted.
        periapsis_radius: m.
    """
    radius, speed = float(np.linalg.norm(position)), float(np.linalg.norm(velocity))
    level = float(np.linalg.norm(np.cross(position, velocity))) / speed  # r cos(gamma)
    drop = 2.0 * mu * (1.0 / periapsis_radius - 1.0 / radius)
    return speed - sqrt(drop / ((level / periapsis_radius) ** 2 - 1.0))


class Retrograde(SteeringLaw):
    """Thrust against the inertial velocity, with the endings of the three arcs of a descent."""

    def __init__(self, endings: dict[str, Ending]) -> None:
        self.plan = FlightPlan(inserting_stage=0)
        self._endings = endings

    def command(self, now: Moment) -> Command:
        """Against the velocity at full throttle."""
        return Command(-now.velocity / np.linalg.norm(now.velocity))

    def ending(self, arc: FlightArc) -> Ending | None:
        """What was given for the arc."""
        return self._endings.get(arc.name)


@dataclass(frozen=True, kw_only=True)
class Descent:
    """A coast, a burn against the motion and the way down to air or ground.

    Args:
        orbiting: where it begins, with the payload that comes along and no other.
        periapsis_radius: to which the burn lowers the osculating periapsis, m.
        coast: before the burn, s.
    """

    orbiting: OrbitingStage
    periapsis_radius: float
    coast: float

    def flown(self, mass: float) -> Flight:
        """Fly it by the independent simulator with a mass of `mass` kg at the start.

        Raises:
            FlightError: when it does not come down to the entry.
        """
        start = self.orbiting.state
        start[-1] = mass
        endings: dict[str, Ending] = {
            WAIT: AfterDuration(self.coast),
            BURN: AtPeriapsisRadius(self.periapsis_radius),
            DOWN: DownToAltitude(entry_altitude(self.orbiting.body)),
        }
        law = Retrograde(endings)
        clock = self.orbiting.time
        return simulate(self._sequence(mass), law, start_state=start, start_time=clock)

    def _sequence(self, mass: float) -> Sequence:
        least = _DEEPEST * self.orbiting.empty_mass
        longest = (mass - least) / self.orbiting.stage.engine.mass_flow
        period = _ONE_REVOLUTION * self.orbiting.orbit.period
        arcs = (
            self._arc(WAIT, (self.coast, self.coast), mass, "deorbit ignition"),
            self._arc(BURN, (0.0, longest), least, "deorbit cut-off"),
            self._arc(DOWN, (0.0, period), least, "entry" if self._airy else "impact"),
        )
        return Sequence(
            arcs=arcs, spans=(), position=self._ground_below(), velocity=(0.0,) * 3, mass=mass
        )

    @property
    def _airy(self) -> bool:
        return self.orbiting.body.atmosphere is not None

    def _ground_below(self) -> tuple[float, float, float]:
        """(3,) the ground below the start, turned back to time zero: downrange counts from it."""
        body, state = self.orbiting.body, self.orbiting.state
        local = Surroundings(body).at(state)
        x, y, z = state[:3] - local[12] * np.array(local[:3])
        turned = -body.rotation_rate * self.orbiting.time
        cosine, sine = np.cos(turned), np.sin(turned)
        return float(cosine * x - sine * y), float(sine * x + cosine * y), float(z)

    def _arc(
        self, name: str, duration: tuple[float, float], least_mass: float, event: str
    ) -> FlightArc:
        burns = name == BURN
        aerodynamics, stage = self.orbiting.aerodynamics, self.orbiting.stage
        drag = aerodynamics.drag_coefficient if aerodynamics is not None else 0.0
        engine = stage.engine if burns else None
        return FlightArc(
            name=name,
            kind=ArcKind(
                body=self.orbiting.body,
                guidance=Guidance.STEERED if burns else Guidance.COAST,
                drag_curve=drag if isinstance(drag, DragCurve) else None,
            ),
            numbers=arc_parameters(engine, aerodynamics).numbers,
            stage=0,
            duration=duration,
            least_mass=least_mass,
            joint=Joint(event=event),
        )


def wait_for_apoapsis(orbiting: OrbitingStage, ahead: float) -> float:
    """Seconds to the next passage of the apoapsis that is at least `ahead` seconds away."""
    orbit = orbiting.orbit
    wait = orbit.time_to_apoapsis
    return wait if wait >= ahead else wait + orbit.period


def apoapsis_impulse(orbiting: OrbitingStage, periapsis_radius: float) -> float:
    """Speed in m/s that an impulse at the apoapsis takes off to lower the periapsis."""
    orbit, mu = orbiting.orbit, orbiting.body.gravitational_parameter
    high, axis = orbit.apoapsis_radius, orbit.semi_major_axis
    if high == inf:
        return inf
    speed = speed_on_orbit(mu, axis, high)
    place, motion = np.array([high, 0.0, 0.0]), np.array([0.0, speed, 0.0])
    return deorbit_impulse(mu, place, motion, periapsis_radius)
