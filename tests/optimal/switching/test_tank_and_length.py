"""A burn to depletion ends where its length and its tank both say so: what they cost is one price.

A stage that may throttle under a limit is told by both, at full throttle to no end: the one may
forbid what the other allows, at any price. What a change gains does not hang on how it is shared.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.freedoms import AddFreedom
from ascentopt.optimal.moves.move import arcs_of
from ascentopt.optimal.moves.moves import moves_from
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.structure.search_by_moves import solve_move
from ascentopt.optimal.task import Task
from ascentopt.units import STANDARD_GRAVITY, km, tonne
from tests.optimal.launchers import earth_mission

NEVER_MET = 1e6
"""Pa of dynamic pressure."""


def _stage(name: str, propellant: float, seconds: float, isp: float, least: float) -> ao.Stage:
    thrust = propellant * isp * STANDARD_GRAVITY / seconds
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=isp, min_throttle=least)
    return ao.Stage(name=name, propellant_mass=propellant, dry_mass=0.1 * propellant, engine=engine)


def launcher() -> ao.Vehicle:
    """Three stages, the second of which throttles."""
    stages = (
        _stage("one", 60 * tonne, 120.0, 290.0, 1.0),
        _stage("two", 14 * tonne, 160.0, 320.0, 0.5),
        _stage("three", 4 * tonne, 400.0, 340.0, 1.0),
    )
    air = ao.Aerodynamics(reference_area=4.0, drag_coefficient=0.4)
    return ao.Vehicle(name="Dotterel", payload_mass=1.0 * tonne, stages=stages, aerodynamics=air)


def task(pressure: float | None, altitude: float) -> Task:
    limits = replace(ao.FlightLimits.none(), dynamic_pressure=pressure)
    orbit = ao.CircularOrbit(altitude=altitude)
    return task_of(launcher(), replace(earth_mission(), orbit=orbit, limits=limits))


@cache
def flight(pressure: float | None, altitude: float) -> Attempt:
    found = attempt_at(task(pressure, altitude), direct(launcher()))
    assert found.reached
    return replace(found, keeps_limits=True)


def freedoms(pressure: float | None, altitude: float) -> list[AddFreedom]:
    """Of the second stage: an early end and a throttle."""
    case = Case(launcher(), task(pressure, altitude).mission)
    moves = moves_from(case, flight(pressure, altitude))
    found = [one for one in moves if isinstance(one, AddFreedom) and "stage 2" in one.description]
    assert [one.description for one in found] == ["stage 2 cut off early", "stage 2 throttled"]
    return found


@pytest.mark.parametrize("altitude", [200 * km, 900 * km])
def test_a_limit_that_never_acts_changes_no_promise(altitude: float) -> None:
    """It promised 43 and 173 kg by a throttle, and without it nothing was promised."""
    for plain, limited in zip(freedoms(None, altitude), freedoms(NEVER_MET, altitude), strict=True):
        assert max(limited.gain, 0.0) == pytest.approx(max(plain.gain, 0.0), abs=0.01)


@pytest.mark.parametrize("altitude", [200 * km, 900 * km])
def test_a_throttle_that_lets_a_stage_burn_longer_gains_what_it_promises(altitude: float) -> None:
    """To first order; what is not burned while thrust costs is burned at the end of the stage."""
    _, move = freedoms(None, altitude)
    own = flight(None, altitude)
    sequence = arcs_of(Case(launcher(), task(None, altitude).mission), move.plan)
    found = solve_move(task(None, altitude), own, move, sequence)
    assert found is not None
    assert found.flies
    assert 0.5 < (found.unspent - own.unspent) / move.gain < 2.0
