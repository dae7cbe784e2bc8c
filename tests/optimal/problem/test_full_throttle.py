"""Burns before a stage's last one are flown at full throttle while the limit asks for none."""

from __future__ import annotations

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.full_throttle import (
    ACTS,
    ROOM,
    burns_at_full_throttle,
    burns_held_at_full_throttle,
    burns_wanting_throttle,
)
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.units import km
from tests.optimal.launchers import moon_mission
from tests.optimal.told import told

TWO_BURNS = FlightPlan(inserting_stage=1, restarts=1)
FIRST, LAST = "second", "second burn 2"
THRUST = 12e3
"""N, of the second stage."""


def stilt(least: float = 0.3) -> ao.Vehicle:
    """Two stages, both down to a share of their thrust, to a high circle of the Moon."""
    engines = [
        ao.Engine(vacuum_thrust=thrust, vacuum_isp=320.0, min_throttle=least)
        for thrust in (20e3, THRUST)
    ]
    stages = (
        ao.Stage(name="first", propellant_mass=2500.0, dry_mass=300.0, engine=engines[0]),
        ao.Stage(name="second", propellant_mass=1500.0, dry_mass=250.0, engine=engines[1],
                 restarts=1),
    )  # fmt: skip
    return ao.Vehicle(name="Stilt", payload_mass=1000.0, stages=stages)


def within(limit: float, least: float = 0.3) -> Case:
    """Within so many m/s^2."""
    orbit, limits = ao.CircularOrbit(altitude=2000 * km), ao.FlightLimits(axial_acceleration=limit)
    return Case(stilt(least), replace(moon_mission(), orbit=orbit, limits=limits))


def two_burns(case: Case, mass: float, held: frozenset[str] = frozenset()) -> Attempt:
    """Two burns around half a revolution, the first of which ends with so many kg."""
    masses = [(5550.0, 5500.0), (5500.0, 3050.0), (2750.0, mass), (mass, mass), (mass, 1300.0)]
    return told(case, TWO_BURNS, (15.0, 300.0, 60.0, 3000.0, 10.0), masses, held)


@given(st.floats(1300.0, 2750.0), st.floats(4.0, 9.5))
def test_a_first_burn_is_held_as_long_as_it_ends_well_below_the_limit(
    mass: float, limit: float
) -> None:
    """And the last burn never is: a stage breaks such a limit, if at all, as its tank empties."""
    flight = two_burns(within(limit), mass)
    held = burns_at_full_throttle(flight.sequence, flight.found.as_guess(), limit)
    below = THRUST / mass < ROOM * limit
    assert (FIRST in held) is below
    assert LAST not in held


@given(st.floats(1300.0, 2750.0), st.floats(4.0, 9.5))
def test_what_is_held_is_let_go_once_the_limit_acts_in_it(mass: float, limit: float) -> None:
    held = frozenset({FIRST})
    flight = two_burns(within(limit), mass, held)
    wanting = burns_wanting_throttle(flight.sequence, flight.found, limit, held)
    assert wanting == (held if THRUST / mass > ACTS * limit else frozenset())
    assert not burns_wanting_throttle(flight.sequence, flight.found, limit, frozenset())


def test_a_program_tells_which_burns_it_holds() -> None:
    """So that what starts at its flight holds them as well."""
    for held in (frozenset[str](), frozenset({FIRST})):
        flight = two_burns(within(9.0), 2500.0, held)
        assert burns_held_at_full_throttle(flight.sequence, flight.found) == held


def test_without_a_limit_or_a_throttle_there_is_nothing_to_hold() -> None:
    flight = two_burns(within(9.0, least=1.0), 2500.0)
    guess = flight.found.as_guess()
    assert not burns_at_full_throttle(flight.sequence, guess, 9.0)
    assert not burns_held_at_full_throttle(flight.sequence, flight.found)
    free = two_burns(within(9.0), 2500.0)
    assert burns_at_full_throttle(free.sequence, free.found.as_guess(), 9.0) == {FIRST}
    assert not burns_at_full_throttle(free.sequence, free.found.as_guess(), None)


def solved(limit: float) -> Attempt:
    case = within(limit)
    found = attempt_at(task_of(case.vehicle, case.mission), TWO_BURNS)
    assert found.reached
    return found


def greatest(attempt: Attempt, name: str) -> float:
    """Thrust over mass in one burn, m/s^2."""
    own = attempt.found.arcs[attempt.sequence.names.index(name)]
    return float((THRUST * own.controls[:, -1] / own.states[1:, 6]).max())


@pytest.mark.parametrize(("limit", "held"), [(9.0, {FIRST}), (4.45, set())])
def test_a_flight_holds_what_it_may_and_keeps_the_limit(limit: float, held: set[str]) -> None:
    """Within 9 m/s^2 the burn on the way up ends far below; within 4.45 it is throttled."""
    flight = solved(limit)
    assert burns_held_at_full_throttle(flight.sequence, flight.found) == held
    first, last = greatest(flight, FIRST), greatest(flight, LAST)
    assert max(first, last) < limit * (1.0 + 1e-6)
    assert (first > limit * (1.0 - 1e-4)) is (FIRST not in held)
