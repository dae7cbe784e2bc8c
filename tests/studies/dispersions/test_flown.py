"""Dispersed flights as they are flown: one input at a time against its partial, and processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from multiprocessing import get_context

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.dispersions.scatter.dispersion import NumberDispersion

SCENARIO = ao.scenarios()["earth-weak-upper"]


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(SCENARIO.vehicle, SCENARIO.mission)


ONE_AT_A_TIME: dict[str, tuple[NumberDispersion, float]] = {
    "second: Isp": (ao.IspDispersion("second", ao.Normal(0.002)), 0.02),
    "second: dry mass": (ao.DryMassDispersion("second", ao.Normal(0.01)), 0.02),
    "payload": (ao.PayloadDispersion(ao.Normal(3.0)), 0.02),
    # Flown by a table that keeps no limits, where the partial has the flight keep its own: with a
    # limit on dynamic pressure that acts, steering through the air is worth something to first
    # order.
    "first: dry mass": (ao.DryMassDispersion("first", ao.Uniform(0.01)), 0.1),
    "first: Isp": (ao.IspDispersion("first", ao.Normal(0.002)), 0.1),
    "drag": (ao.DragDispersion(ao.Normal(0.02)), 0.2),
}
"""What scatters, and by which part of the partial flights may differ."""


@pytest.mark.parametrize("name", ONE_AT_A_TIME)
def test_a_small_scatter_of_one_input_is_its_partial(name: str, ascent: ao.Ascent) -> None:
    one, part = ONE_AT_A_TIME[name]
    found = ao.disperse(ascent, (one,), count=20, seed=2)
    [row] = found.importance().rows
    assert abs(row.rank) == 1.0
    for_one_sigma = row.regression * one.by.spread / found.inputs[:, 0].std()
    assert for_one_sigma == pytest.approx(row.first_order, rel=part)


EVERYTHING = (
    ao.ThrustDispersion("first", ao.Normal(0.01)),
    ao.IspDispersion("second", ao.Normal(0.003)),
    ao.IgnitionDispersion("second", ao.Uniform(0.5)),
    ao.SeparationDispersion("first", ao.Uniform(0.3)),
    ao.AlignmentDispersion(ao.Normal(0.002), ao.PadAxis.NORTH),
    ao.RandomWind(altitude=[0.0, 12e3, 30e3], sigma=[4.0, 15.0, 8.0], correlation_length=3e3),
)


def test_pieces_change_no_draw_and_no_flight(ascent: ao.Ascent) -> None:
    whole = ao.disperse(ascent, EVERYTHING, count=24, seed=6)
    in_two = ao.continue_dispersion(ao.disperse(ascent, EVERYTHING, count=7, seed=6), count=24)
    assert np.array_equal(in_two.inputs, whole.inputs)
    # What is flown side by side is rounded otherwise, and guidance hands on a little of that.
    assert in_two.margins == pytest.approx(whole.margins, abs=1e-5)
    assert in_two.outcomes.periapsis == pytest.approx(whole.outcomes.periapsis, abs=0.1)
    assert whole.verify()


@pytest.mark.slow
def test_processes_change_nothing_to_the_last_bit(ascent: ao.Ascent) -> None:
    with ProcessPoolExecutor(2, mp_context=get_context("spawn")) as pool:
        elsewhere = ao.disperse(ascent, EVERYTHING, count=210, seed=6, executor=pool)
    assert elsewhere == ao.disperse(ascent, EVERYTHING, count=210, seed=6)


def test_limits_that_the_partials_keep_and_flights_do_not_are_told(ascent: ao.Ascent) -> None:
    """The optimum rides its limit on dynamic pressure; half of its flights exceed it."""
    found = ao.disperse(ascent, (ao.DensityDispersion(ao.Normal(0.03)),), count=30, seed=2)
    assert "dynamic pressure" in found.first_order.exceeded
    assert "the partials keep the limit on dynamic pressure" in str(found)
    assert found.loads()["dynamic_pressure"].within < 30


def test_two_flights_say_nothing_of_what_matters(ascent: ao.Ascent) -> None:
    found = ao.disperse(ascent, EVERYTHING, count=2)
    with pytest.raises(ao.InputError, match="importance: 2 flights did not fall; it takes"):
        found.importance()
    assert "too few flights to tell what matters most" in str(found)
    assert "<table" in found._repr_html_()
