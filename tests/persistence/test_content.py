"""Results are equal by what they hold, and hold what their annotations say, from birth."""

from __future__ import annotations

import copy
import pickle
from dataclasses import fields, replace
from math import nan
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from tests.persistence.kept import KINDS, cost_map, kept


def test_nan_is_equal_to_nan_and_arrays_to_arrays() -> None:
    one, other = cost_map(), cost_map()
    assert one is not other
    assert one == other
    assert hash(one) == hash(other)
    assert one != replace(other, optimum=8990.5)
    other.propellant_used[0, 0] += 1e-9
    assert one != other
    assert one != "a map"


def test_where_two_results_differ() -> None:
    one = kept()["ascent"].result
    heavier = replace(one, vehicle=replace(one.vehicle, payload_mass=100.0), flight_time=2.0)
    found = list(persistence.differences(one, heavier))
    assert found[0] == ("vehicle.payload_mass", one.vehicle.payload_mass, 100.0)
    assert found[-1] == ("flight_time", one.flight_time, 2.0)
    # What the table tells of the vehicle is another as well, and nothing else.
    assert all(place.startswith("steering.context") for place, _, _ in found[1:-1])


def test_a_certificate_that_knows_less_is_equal_to_itself() -> None:
    certificate = kept()["ascent"].result.certificate
    unknown = [replace(certificate, primer_angle=float("nan")) for _ in range(2)]
    assert unknown[0] == unknown[1]
    assert hash(unknown[0]) == hash(unknown[1])
    assert unknown[0] != certificate


@pytest.mark.parametrize("name", KINDS)
def test_copies_are_equal(name: str) -> None:
    one = kept()[name].result
    assert copy.deepcopy(one) == one == pickle.loads(pickle.dumps(one))


@pytest.mark.parametrize("name", KINDS)
@pytest.mark.parametrize("junk", [b"x", {"a": 1}, object()], ids=("bytes", "dict", "object"))
def test_no_result_is_born_of_nonsense(name: str, junk: Any) -> None:
    one = kept()[name].result
    for field in fields(one):
        with pytest.raises(ao.InputError, match=field.name):
            replace(one, **{field.name: junk})


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"final_mass": "heavy"}, "final_mass is 'heavy'"),
        ({"final_mass": None}, "final_mass is None"),
        ({"final_mass": -1.0}, "final_mass is -1.0 kg; it must be positive"),
        ({"propellant_used": nan}, "propellant_used is nan"),
        ({"propellant_margin": 10**400}, "propellant_margin"),
        ({"flight_time": -3.0}, "flight_time is -3.0 s"),
        ({"plan": ao.FlightPlan(inserting_stage=5)}, "inserting_stage is 5"),
        ({"plan": ao.FlightPlan(inserting_stage=0, unlit=1)}, "must be the same"),
    ],
)
def test_an_ascent_is_valid_from_birth(change: dict[str, Any], told: str) -> None:
    with pytest.raises(ao.InputError, match=told):
        replace(kept()["ascent"].result, **change)


def test_an_ascent_of_fewer_stages_is_none() -> None:
    one = kept()["ascent"].result
    with pytest.raises(ao.InputError, match="inserting_stage is 1; vehicle"):
        replace(one, vehicle=replace(one.vehicle, stages=one.vehicle.stages[1:]))


def test_a_plan_of_millions_of_burns_is_not_laid_out() -> None:
    one = kept()["ascent"].result
    upper = replace(one.vehicle.stages[-1], restarts=10**8)
    vehicle = replace(one.vehicle, stages=(one.vehicle.stages[0], upper))
    with pytest.raises(ao.InputError, match="100000001 burns and coasts"):
        replace(one, vehicle=vehicle, plan=replace(one.plan, restarts=10**8))


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"times": np.array([0.0, 2.0, 1.0])}, r"times\[2\] is 1.0 s; it must be a finite number"),
        ({"times": np.array([nan, 2.0, 3.0])}, r"times\[\d\] is nan|times\[\d\] is 2.0"),
        ({"times": np.array([0.0, 1.0])}, "has the shape"),
        ({"states": np.full((3, 7), nan)}, "states holds what is no finite number"),
        ({"states": np.zeros((3, 6))}, "states has the shape"),
        ({"throttle": "full"}, "throttle is 'full'"),
        ({"name": 3}, "name is 3"),
    ],
)
def test_a_trajectory_is_valid_from_birth(change: dict[str, Any], told: str) -> None:
    with pytest.raises(ao.InputError, match=told):
        replace(kept()["ascent"].result.trajectory.arcs[0], **change)


def test_arcs_and_events_follow_each_other() -> None:
    one = kept()["ascent"].result
    with pytest.raises(ao.InputError, match="times must not decrease"):
        replace(one.trajectory, arcs=one.trajectory.arcs[::-1])
    with pytest.raises(ao.InputError, match="times must not decrease"):
        replace(one.events, rows=one.events.rows[::-1])


@pytest.mark.parametrize(
    ("change", "told"),
    [
        ({"excess": np.zeros((3, 2))}, "shape of excess"),
        ({"propellant_used": np.zeros(3)}, "shape of propellant_used"),
        ({"optimum": 0.0}, "optimum is 0.0 kg"),
        ({"flown": (7,)}, "flown is 7"),
        ({"reasons": (("",),)}, "shape of reasons"),
    ],
)
def test_a_map_is_valid_from_birth(change: dict[str, Any], told: str) -> None:
    with pytest.raises(ao.InputError, match=told):
        replace(cost_map(), **change)
