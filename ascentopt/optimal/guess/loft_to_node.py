"""Burn, coast up, turn the plane where it meets the orbit's: where to cut off, and what follows.

To a plane below the latitude a short way is a lob whose top is the node, a quarter of a revolution
or so away. It falls back to the ground, so it is no orbit that a flight could be solved into first.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi, sqrt

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.elements import LEAST_NEARNESS
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.guess.ballistic_coast import FALLING_PENALTY, HEIGHT_WEIGHT
from ascentopt.optimal.problem.target.aim import apsides, launch_plane, plane_met_from, speed_at
from ascentopt.world.orbital_elements import elements

SOON, MOST_AHEAD = 0.1, 0.95 * pi
"""rad ahead of the end of a burn that the next one is at least, and the node of a lob at most: sooner
the burn has hardly ended; half a revolution on every path there passes the ground or is a transfer.
"""


@dataclass(frozen=True, eq=False)
class LoftToNode:
    """The place where the plane of the way up meets the orbit's as something to coast up to.

    Attributes:
        mu: of the body, m^3/s^2.
        normal, place: (3,) unit vectors: of the way up's plane, and to the node.
        turned: (3,) unit vector along the orbit there.
        radius, speed: of the orbit there, m and m/s, at its far end.
        exhaust: speed of the stage that burns last, m/s; full: the vehicle's mass at lift-off, kg.
    """

    mu: float
    normal: Array
    place: Array
    turned: Array
    radius: float
    speed: float
    exhaust: float
    full: float

    @classmethod
    def of(cls, sequence: Sequence, coast: int, mission: Mission) -> LoftToNode:
        """For the arc ``coast`` of a sequence and the burn after it."""
        burn, mu = sequence.arcs[coast + 1], mission.body.gravitational_parameter
        normal = launch_plane(sequence, mission)
        final = plane_met_from(mission, normal)
        line = np.cross(normal, final)
        line = line / np.linalg.norm(line)
        pad = np.array(sequence.position)
        place = line if np.cross(pad, line) @ normal > 0.0 else -line
        _, far = apsides(mission)
        return cls(
            mu=mu,
            normal=normal,
            place=place,
            turned=np.cross(final, place),
            radius=far,
            speed=speed_at(mission, far),
            exhaust=burn.parameters.thrust / burn.parameters.mass_flow,
            full=sequence.mass,
        )

    def miss(self, states: Array) -> Array:
        """(k, members) speed in m/s used and to be used, of (k, 7, members) states at cut-off."""
        meets, climb, across, ahead = self._at_node(states[:, :3], states[:, 3:6])
        along = np.cross(self.normal, self.place)
        turn = float(along @ self.turned)
        squared = climb**2 + across**2 + self.speed**2 - 2.0 * across * self.speed * turn
        total = np.sqrt(np.maximum(squared, 0.0))
        total = total + self.exhaust * np.log(self.full / np.maximum(states[:, MASS], 1e-6))
        # Over the height that is met one divides: it goes to infinity where the path opens.
        beside = HEIGHT_WEIGHT**2 * (self.radius / meets - 1.0) * self.speed
        total = np.hypot(total, beside)
        away = (ahead < SOON) | (ahead > MOST_AHEAD)
        rising = (states[:, :3] * states[:, 3:6]).sum(axis=1) > 0.0
        total = total + FALLING_PENALTY * (away | ~rising)
        return np.asarray(total)

    def last(self, state: Array) -> tuple[float, Array, float]:
        """Seconds to the node from a (7,) state, the (3,) change of velocity, and its size."""
        found = self._at_node(state[None, :3, None], state[None, 3:6, None])
        _, climb, across, ahead = (float(one[0, 0]) for one in found)
        before = climb * self.place + across * np.cross(self.normal, self.place)
        change = self.speed * self.turned - before
        return self._seconds(state, ahead), change, float(np.linalg.norm(change))

    def _at_node(self, position: Array, velocity: Array) -> tuple[Array, Array, Array, Array]:
        """Radius, climb and horizontal speed there, and the angle ahead, each (k, members).

        On the ellipse through (k, 3, members) positions: 1 + e cos nu = p/r, and nu more by the
        angle.
        """
        radius = np.linalg.norm(position, axis=1)
        climb = (position * velocity).sum(axis=1) / radius
        level = np.sqrt(np.maximum((velocity**2).sum(axis=1) - climb**2, 1.0))
        latus = (radius * level) ** 2 / self.mu
        pace = np.sqrt(self.mu / latus)
        cosine, sine = latus / radius - 1.0, climb / pace
        forward = np.cross(self.normal, self.place)
        here = np.arctan2(
            np.einsum("j,kjm->km", forward, position),
            np.einsum("j,kjm->km", self.place, position),
        )
        ahead = np.mod(-here, 2.0 * pi)
        nearness = 1.0 + cosine * np.cos(ahead) - sine * np.sin(ahead)
        nearness = np.maximum(nearness, LEAST_NEARNESS)  # an open path never comes there
        return (
            latus / nearness,
            pace * (sine * np.cos(ahead) + cosine * np.sin(ahead)),
            pace * nearness,
            ahead,
        )

    def _seconds(self, state: Array, ahead: float) -> float:
        """From a (7,) state until the place so many rad ahead."""
        orbit = elements(self.mu, state[:3], state[3:6])
        if orbit.eccentricity >= 1.0:
            return ahead * sqrt(self.radius**3 / self.mu)
        return orbit.time_ahead(ahead)
