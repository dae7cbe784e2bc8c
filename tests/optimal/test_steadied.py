"""A direction of thrust that would jump within no time turns at a rate that is told.

Too much thrust below a limit on dynamic pressure: the primer vector passes through nothing and then
points against the motion, within a third of a degree of it, where no side of the cone that q alpha
allows is better than another. The optimum jumped from the middle of the cone to its edge and to and
fro, and every mesh overshot its limit between the nodes by 10 to 60 per cent.
"""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.errors import InputError
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.plan import TURN_RATE, FlightPlan, direct
from ascentopt.optimal.optimize import solving_of
from ascentopt.optimal.steadied import start_of, steadied
from ascentopt.units import deg, kPa
from benchmarks.survey.generator import case
from examples.first_ascent import PELICAN_POINT, TURNSTONE

BETWEEN_NODES = 1.005
"""Half a per cent, and no more, in the independent flight."""


@cache
def pressed() -> ao.Ascent:
    drawn = case(284)
    return ao.optimize(drawn.vehicle, drawn.mission)


def keeps_its_limits(ascent: ao.Ascent) -> bool:
    limits, flown = ascent.mission.limits, ascent.trajectory
    assert limits.dynamic_pressure is not None
    assert limits.q_alpha is not None
    return bool(
        flown.dynamic_pressure.max() < BETWEEN_NODES * limits.dynamic_pressure
        and np.nanmax(flown.q_alpha) < BETWEEN_NODES * limits.q_alpha
    )


def test_a_flight_whose_direction_would_jump_is_certified_and_keeps_its_limits() -> None:
    ascent = pressed()
    assert not ascent.certificate.beyond()
    assert keeps_its_limits(ascent)


def test_it_says_how_fast_it_turns_and_flies_so() -> None:
    ascent = pressed()
    assert "at most 3 deg/s" in str(ascent.plan)
    assert any("the direction jumps" in line for line in ascent.candidates[0].history)
    for segment in ascent.steering.segments:
        if segment.arc in ascent.plan.turning_arcs:
            way = np.column_stack((segment.up, segment.east, segment.north))
            way /= np.linalg.norm(way, axis=1, keepdims=True)
            apart = np.linalg.norm(np.diff(way, axis=0), axis=1)
            steps = np.diff(segment.times)
            # The local frame itself turns by a twentieth of a degree per second.
            assert np.all(apart <= (TURN_RATE + 0.1 * deg) * steps + 1e-9)


def test_the_turn_rate_costs_next_to_nothing() -> None:
    """With a third of it the price is higher, and all of it is a few millionths."""
    drawn = case(284)
    slow = replace(drawn.mission, limits=replace(drawn.mission.limits, pitch_rate=TURN_RATE / 3.0))
    used = ao.optimize(drawn.vehicle, slow).propellant_used
    assert 0.0 < used - pressed().propellant_used < 1e-5 * used


def test_it_is_saved_with_its_plan(tmp_path: Path) -> None:
    ascent = pressed()
    ascent.save(tmp_path / "ascent.json")
    assert ao.Ascent.load(tmp_path / "ascent.json").plan == ascent.plan
    ascent.steering.save(tmp_path / "steering.json")
    table = ao.TabulatedSteering.load(tmp_path / "steering.json")
    assert table.plan.turning_arcs == ascent.plan.turning_arcs != ()


@pytest.mark.slow
def test_the_example_within_30_kpa() -> None:
    limits = replace(PELICAN_POINT.limits, dynamic_pressure=30 * kPa)
    ascent = ao.optimize(TURNSTONE, replace(PELICAN_POINT, limits=limits))
    assert not ascent.certificate.beyond()
    assert keeps_its_limits(ascent)


def test_an_arc_that_is_not_steered_cannot_turn() -> None:
    plan = replace(direct(TURNSTONE), turning_arcs=("vertical rise", "first"))
    with pytest.raises(InputError, match=r"turning_arcs has \['vertical rise'\].*'first'"):
        sequence_of(TURNSTONE, PELICAN_POINT, plan)


def test_a_plan_turns_where_it_says_and_nowhere_else() -> None:
    plan = FlightPlan(inserting_stage=1, turning_arcs=("first",))
    arcs = sequence_of(TURNSTONE, PELICAN_POINT, plan).arcs
    assert [arc.name for arc in arcs if arc.kind.turning] == ["first"]


def test_directions_become_states_that_turn_as_they_did() -> None:
    attempt = solving_of(TURNSTONE, PELICAN_POINT).attempt(direct(TURNSTONE))
    begun = steadied(attempt, ("first",), TURNSTONE, PELICAN_POINT)
    start = start_of(begun.sequence, attempt.found)
    index = begun.sequence.names.index("first")
    own, length = start.arcs[index], start.instants[index + 1] - start.instants[index]
    assert own.states.shape[1] == 10
    assert np.allclose(np.linalg.norm(own.states[:, 7:], axis=1), 1.0)
    turned = np.trapezoid(own.controls[2:], own.fractions[2:] * length, axis=0)
    assert turned == pytest.approx(own.states[-1, 7:] - own.states[2, 7:], abs=0.02)
    others = [k for k in range(len(start.arcs)) if k != index]
    assert all(start.arcs[k].states.shape[1] == 7 for k in others)
