"""Which limits of a mission a trajectory breaks, wherever the program did not watch them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import lru_cache
from math import sqrt

import casadi as ca
import numpy as np

from ascentopt.collocation import ArcSolution, Point, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import FlightLimits
from ascentopt.optimal.problem.path_limits import BY_THRUST, STILL_AIR
from ascentopt.optimal.problem.phase_model import forces_at
from ascentopt.typing import Expr

SAMPLES = 6  # points an interval of the mesh
DENSE = sqrt(2.0) * STILL_AIR
"""Pa from which an angle of attack counts: the limit on it has set in to 86 per cent there."""

IMPOSED_FROM = 0.98
"""An arc is watched from this fraction of a limit on: it may cross it once the others bend."""


DRAG_HELPS = 1.05
"""Thrust over mass, in shares of the limit on acceleration, from which drag counts as what keeps
it: as an engine burns out, in thin air, drag takes some per mille off."""


@dataclass(frozen=True)
class Load:
    """Greatest loads on an arc: dynamic pressure Pa, q alpha Pa rad, angle of attack rad.

    ``lowest_altitude`` is the least altitude, m; ``by_thrust`` thrust over mass, m/s^2.
    """

    arc: str
    dynamic_pressure: float
    q_alpha: float
    angle_of_attack: float
    lowest_altitude: float
    by_thrust: float

    def ratio(self, limits: FlightLimits) -> float:
        """Greatest load over its limit."""
        pairs = (
            (self.dynamic_pressure, limits.dynamic_pressure),
            (self.q_alpha, limits.q_alpha),
            (self.angle_of_attack, limits.angle_of_attack),
        )
        return max((load / limit for load, limit in pairs if limit is not None), default=0.0)


def loads(solution: Solution, sequence: Sequence) -> Iterator[Load]:
    """Loads on every arc, between the nodes as well."""
    for arc, own in zip(sequence.arcs, solution.arcs, strict=True):
        count = SAMPLES * len(own.arc.mesh.degrees)
        fractions = np.linspace(0.0, 1.0, count)  # a stage lit in thin air is loaded most at first
        times = own.times[0] + fractions * own.duration
        numbers = np.repeat(np.array([arc.numbers]).T, count, axis=1)
        control = own.control_at(fractions).T
        q, angle, height, push = _loads(_as_solved(arc.kind, own))(
            times.reshape(1, -1), own.state_at(fractions).T, control, numbers
        )
        pressure, attack = np.array(q).ravel(), np.array(angle).ravel()
        dense = pressure > DENSE
        yield Load(
            arc.name,
            float(pressure.max()),
            float((pressure * attack).max()) if arc.burning else 0.0,
            float(attack[dense].max(initial=0.0)) if arc.burning else 0.0,
            float(np.array(height).min()),
            float(np.array(push).max()) if arc.burning else 0.0,
        )


def leans_on_drag(solution: Solution, sequence: Sequence, limits: FlightLimits) -> bool:
    """Whether drag keeps the acceleration within its limit, loads being limited as well.

    Where they are not, a flight may dive for that; and an engine that throttles needs no drag.
    """
    limit, airless = limits.axial_acceleration, sequence.arcs[0].kind.body.atmosphere is None
    if limit is None or airless or (limits.dynamic_pressure is None and limits.q_alpha is None):
        return False
    pairs = zip(sequence.arcs, loads(solution, sequence), strict=True)
    fixed = (load for arc, load in pairs if not arc.kind.throttled)
    return any(load.by_thrust > DRAG_HELPS * limit for load in fixed)


def is_without_help_of_drag(solution: Solution) -> bool:
    """Whether drag was not to keep the acceleration within its limit."""
    arcs = solution.problem.arcs
    return any(quantity.name == BY_THRUST for arc in arcs for quantity in arc.model.path)


def _as_solved(kind: ArcKind, own: ArcSolution) -> ArcKind:
    """The kind with a direction among the states only if the solution has one there."""
    return replace(
        kind, direction_is_state=kind.direction_is_state and own.states.shape[1] > MASS + 1
    )


@lru_cache(maxsize=64)
def _loads(kind: ArcKind) -> ca.Function:
    state = ca.SX.sym("state", 10 if kind.direction_is_state else 7)
    steering = 3 if kind.guidance is Guidance.STEERED else 0
    control = ca.SX.sym("control", steering + (1 if kind.throttled else 0))
    time, numbers = ca.SX.sym("time"), ca.SX.sym("numbers", len(kind.numbers))
    now = forces_at(kind, Point(time, time, state, control, numbers))
    across = ca.norm_2(ca.cross(now.direction, now.air_velocity))
    angle: Expr = ca.atan2(across, ca.dot(now.direction, now.air_velocity))
    values = [now.dynamic_pressure, angle, now.altitude, now.thrust / now.instant.mass]
    return ca.Function("loads", [time, state, control, numbers], values)


def without_load_limits(limits: FlightLimits) -> FlightLimits:
    """The limits but for those on what the air does to the vehicle."""
    return replace(limits, dynamic_pressure=None, q_alpha=None, angle_of_attack=None)


def limits_if_imposed(limited_arcs: frozenset[str], limits: FlightLimits) -> FlightLimits:
    """The limits that held when an attempt fell short: those on loads come after all others."""
    return limits if limited_arcs else without_load_limits(limits)
