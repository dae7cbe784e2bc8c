"""Draws hang on the seed, their number and the quantity alone."""

from __future__ import annotations

from dataclasses import fields

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ascentopt.guided.deviations import Deviations
from ascentopt.studies.dispersions.scatter.correlation import Correlation
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.distributions import Uniform
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.studies.dispersions.scatter.parts import DryMassDispersion
from ascentopt.studies.dispersions.scatter.scores import scores
from tests.studies.dispersions.scatter.cases import EVERYTHING, ISP, PROFILES, THRUST
from tests.studies.wren import MISSION, VEHICLE

TOGETHER = (Correlation(THRUST, ISP, 0.6),)


def draw(
    dispersions: tuple[Dispersion, ...] = EVERYTHING,
    correlations: tuple[Correlation, ...] = TOGETHER,
    seed: int = 5,
) -> Draw:
    return Draw(
        vehicle=VEHICLE, mission=MISSION, dispersions=dispersions, correlations=correlations,
        seed=seed,
    )  # fmt: skip


def assert_same(one: Deviations, other: Deviations) -> None:
    for field in fields(one):
        if field.name != "air":
            assert np.array_equal(getattr(one, field.name), getattr(other, field.name))
    assert one.air is not None
    assert other.air is not None
    for name in ("altitude", "density", "east", "north"):
        assert np.array_equal(getattr(one.air, name), getattr(other.air, name))


@given(begin=st.integers(0, 40), count=st.integers(1, 20))
def test_a_piece_is_that_of_the_whole_to_the_last_bit(begin: int, count: int) -> None:
    whole, piece = draw()(0, 64), draw()(begin, begin + count)
    assert_same(whole.deviations[begin : begin + count], piece.deviations)
    assert np.array_equal(whole.inputs[begin : begin + count], piece.inputs)


def test_the_first_draws_of_a_longer_run_are_the_same() -> None:
    assert np.array_equal(draw()(0, 500).inputs[:7], draw()(0, 7).inputs)


def test_what_else_scatters_changes_nothing() -> None:
    alone, beside = draw((THRUST,), ())(0, 30), draw((ISP, PROFILES, THRUST), ())(0, 30)
    assert np.array_equal(alone.deviations.thrust, beside.deviations.thrust)


def test_seeds_and_quantities_differ() -> None:
    drawn = [scores(seed, name, 0, 4000) for seed in (0, 1) for name in ("first", "second")]
    related = np.corrcoef(drawn) - np.eye(4)
    assert np.abs(related).max() < 4.0 / np.sqrt(4000)
    assert stats.kstest(np.concatenate(drawn), stats.norm.cdf).pvalue > 0.01


def test_draws_are_independent_of_those_before_them() -> None:
    drawn = scores(11, "first", 0, 20000)
    for lag in (1, 2, 4):
        assert abs(np.corrcoef(drawn[:-lag], drawn[lag:])[0, 1]) < 4.0 / np.sqrt(20000)


def test_numbers_are_put_where_they_belong() -> None:
    drawn = draw()(0, 20)
    own = drawn.deviations
    inputs = {name: x for (name, _), x in zip(draw().columns, drawn.inputs.T, strict=True)}
    lower = VEHICLE.stages[0]
    assert np.allclose(own.thrust[:, 0], 1.0 + inputs["lower: thrust"])
    assert np.allclose(own.thrust[:, 1], 1.0 + inputs["upper: thrust"])
    assert np.allclose(own.isp[:, 0], 1.0 + inputs["lower: Isp"])
    assert np.allclose(own.dry_mass[:, 0], lower.dry_mass * inputs["lower: dry mass"])
    assert np.allclose(own.propellant[:, 0], lower.propellant_mass * inputs["lower: propellant"])
    assert np.all(own.propellant[:, 1] == 0.0)
    assert np.allclose(own.payload, inputs["payload"])
    assert np.allclose(own.drag, 1.0 + inputs["drag"])
    assert np.allclose(own.ignition_delay[:, 1], inputs["upper: ignition delay"])
    assert np.allclose(own.separation_delay[:, 0], inputs["lower: separation delay"])
    assert np.allclose(own.alignment[:, 2], inputs["alignment about up"])
    assert np.all(own.alignment[:, :2] == 0.0)
    assert own.air is not None
    assert np.allclose(own.air.density, 1.0 + inputs["density"][:, None])


@pytest.mark.parametrize("coefficient", [0.7, -0.4])
def test_normal_numbers_are_correlated_as_given(coefficient: float) -> None:
    drawn = draw(EVERYTHING, (Correlation(THRUST, ISP, coefficient),))(0, 20000).inputs
    assert np.corrcoef(drawn[:, 0], drawn[:, 1])[0, 1] == pytest.approx(coefficient, abs=0.02)
    others = np.asarray(np.corrcoef(drawn.T))
    assert np.abs(others[2:12, :2]).max() < 0.03


def test_uniform_numbers_are_correlated_by_rank() -> None:
    one, other = (DryMassDispersion(part, Uniform(0.01)) for part in ("lower", "upper"))
    drawn = draw((one, other), (Correlation(one, other, 0.6),))(0, 20000).inputs
    rank = stats.spearmanr(drawn[:, 0], drawn[:, 1]).statistic
    assert rank == pytest.approx(6.0 / np.pi * np.arcsin(0.3), abs=0.02)
    assert stats.kstest(drawn[:, 1], stats.uniform(-0.01, 0.02).cdf).pvalue > 0.01
