"""Beside a coast of free length a second of coast costs nothing: what is told there is error."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.mode_insertions import InsertArc
from ascentopt.optimal.moves.moves import moves_from
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.switching_function import coasting_cost
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.structure.search_by_moves import BETTER
from ascentopt.units import km, kN
from tests.optimal.launchers import lander, moon_mission


def relit_twice(thrust: float) -> ao.Vehicle:
    vehicle = lander(thrust=thrust)
    return replace(vehicle, stages=(replace(vehicle.stages[0], restarts=2),))


def to_circle(altitude: float) -> ao.Mission:
    return replace(moon_mission(), orbit=ao.CircularOrbit(altitude=altitude))


def flown(vehicle: ao.Vehicle, mission: ao.Mission, restarts: int) -> Attempt:
    """On its first mesh."""
    return attempt_at(task_of(vehicle, mission), FlightPlan(inserting_stage=0, restarts=restarts))


def pause(vehicle: ao.Vehicle, mission: ao.Mission, flight: Attempt) -> float:
    """Kg that a coast put into the first burn gains, as it is told."""
    moves = moves_from(Case(vehicle, mission), flight)
    (gain,) = (
        one.gain
        for one in moves
        if isinstance(one, InsertArc) and one.description == "coast put into ascent"
    )
    return gain


@pytest.mark.parametrize("thrust", [17 * kN, 20 * kN, 25 * kN])
def test_a_pause_at_the_end_of_a_burn_gains_nothing_where_a_coast_follows(thrust: float) -> None:
    vehicle, mission = relit_twice(thrust), to_circle(2000 * km)
    flight = flown(vehicle, mission, 1)
    assert pause(vehicle, mission, flight) <= BETTER * vehicle.propellant_mass


def test_a_pause_that_pays_within_a_burn_is_still_told() -> None:
    """Without a coast the flight to a high circle burns all the way up."""
    vehicle, mission = relit_twice(40 * kN), to_circle(150 * km)
    flight = flown(vehicle, mission, 0)
    (burn,) = (k for k, arc in enumerate(flight.sequence.arcs) if arc.name == "ascent")
    least = float(np.min(coasting_cost(flight.sequence.arcs[burn], flight.found.arcs[burn])))
    assert least < 0.0
    assert pause(vehicle, mission, flight) > 0.0


def test_a_weak_vehicle_is_settled_with_the_burns_that_it_needs() -> None:
    vehicle, mission = relit_twice(17 * kN), to_circle(2000 * km)
    ascent = ao.optimize(vehicle, mission)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.plan.restarts == 1
    structures = ascent.certificate.structures
    assert structures is not None
    assert any("coast put into ascent: gains" in one for one in structures.left_out)
