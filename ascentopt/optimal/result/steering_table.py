"""From a solution to the steering table that flies it."""

from __future__ import annotations

from collections.abc import Iterator

import casadi as ca
import numpy as np

from ascentopt.collocation import ArcSolution, RadauMesh
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.refinement.refinement import BRIEFEST
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.steering import TabulatedSteering
from ascentopt.world.ellipsoid import up

SAMPLES = 2
"""Samples for each collocation point: the spline through them is then closer to the control's
polynomial than that is to the optimum."""


def steering_of(attempt: Attempt, mission: Mission) -> TabulatedSteering:
    """Tabulate the thrust direction and throttle of every arc."""
    arcs = [
        (arc.name, _samples(arc, own), max(own.duration, 0.0))
        for arc, own in zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    ]
    return TabulatedSteering.from_samples(attempt.flown_plan, mission.body, arcs)


def _samples(arc: FlightArc, own: ArcSolution) -> Array:
    """(k, 12) rows of time, state (7), direction (3), throttle; breaks of the mesh appear twice."""
    parts = list(_interval_fractions(own.arc.mesh, 0.0 if arc.kind.throttled else BRIEFEST))
    fractions, inner = (np.concatenate(each) for each in zip(*parts, strict=True))
    states, controls = own.state_at(inner), own.control_at(inner)
    times = own.times[0] + fractions * max(own.duration, 0.0)
    return np.column_stack((times, states[:, :7], *_command(arc, states, controls)))


def _interval_fractions(mesh: RadauMesh, narrowest: float) -> Iterator[tuple[Array, Array]]:
    """Fractions of the arc in each interval, and where its polynomial is to be read for them.

    One below the ``narrowest`` that refinement cuts is a straight line between nodes, its left end
    the last node of the interval before: a direction that jumps there overshoots in between. Not
    where there is throttle, of which such intervals hold the switches: what it burns must stay.
    """
    for left, right, degree in zip(mesh.breaks[:-1], mesh.breaks[1:], mesh.degrees, strict=True):
        # The right end belongs to this interval's polynomial: a control may jump there.
        end = np.nextafter(right, left)
        if left > 0.0 and right - left < narrowest:
            yield np.array([left, right]), np.array([np.nextafter(left, 0.0), end])
            continue
        fractions = np.linspace(left, right, SAMPLES * degree + 1)
        yield fractions, np.minimum(fractions, end)


def _command(arc: FlightArc, states: Array, controls: Array) -> tuple[Array, Array]:
    count = len(states)
    throttle = np.ones(count)
    if arc.kind.throttled:  # where it jumps, its polynomial overshoots what the engine can do
        throttle = np.clip(controls[:, -1], arc.min_throttle, 1.0)
    if arc.kind.guidance is Guidance.COAST:
        return np.zeros((count, 3)), np.zeros(count)
    if arc.kind.guidance is Guidance.VERTICAL:
        rows = [np.array(up(arc.kind.body, ca.DM(row[:3])), dtype=float).ravel() for row in states]
        return np.array(rows), throttle
    direction = states[:, 7:10] if arc.kind.direction_is_state else controls[:, :3]
    return direction / np.linalg.norm(direction, axis=1, keepdims=True), throttle
