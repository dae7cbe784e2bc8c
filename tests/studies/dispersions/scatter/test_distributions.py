"""Distributions: what is drawn is distributed as it says."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy import stats

from ascentopt.errors import InputError
from ascentopt.studies.dispersions.scatter.distributions import (
    FARTHEST,
    Distribution,
    Normal,
    TruncatedNormal,
    Uniform,
)
from ascentopt.studies.dispersions.scatter.parts import IgnitionDispersion
from ascentopt.studies.dispersions.scatter.scores import scores

CASES = {
    "normal": (Normal(0.2), stats.norm(scale=0.2)),
    "cut": (TruncatedNormal(0.2, 1.5), stats.truncnorm(-1.5, 1.5, scale=0.2)),
    "uniform": (Uniform(0.2), stats.uniform(-0.2, 0.4)),
}


@pytest.mark.parametrize("name", CASES)
def test_draws_are_distributed_as_scipy_has_it(name: str) -> None:
    given_, reference = CASES[name]
    drawn = given_.values(scores(3, name, 0, 20000))
    assert stats.kstest(drawn, reference.cdf).pvalue > 0.01
    assert given_.spread == pytest.approx(reference.std(), rel=1e-12)
    assert np.abs(drawn).max() <= given_.farthest


@pytest.mark.parametrize("name", CASES)
@given(score=st.floats(-8.2, 8.2))
def test_values_are_quantiles(name: str, score: float) -> None:
    given_, reference = CASES[name]
    (value,) = given_.values(np.array([score]))
    # By the share in whichever half the score is in: shares near one have lost their digits.
    expected = reference.ppf(stats.norm.cdf(-abs(score))) * -np.sign(score)
    assert value == pytest.approx(expected, rel=1e-9, abs=1e-12)


@given(score=st.floats(-8.2, 8.2), width=st.floats(1e-3, 5.0))
def test_a_delay_has_the_upper_half_of_a_distribution(score: float, width: float) -> None:
    (late,) = IgnitionDispersion("upper", Normal(width)).values(np.array([score]))
    share = stats.norm.sf(score)
    assert late >= 0.0
    assert 2.0 * stats.norm.sf(late / width) == pytest.approx(share, rel=1e-9)


def test_no_score_is_farther_than_is_said() -> None:
    from scipy.special import ndtri

    assert -ndtri(0.5 * 2.0**-52) < FARTHEST


@pytest.mark.parametrize(
    ("kind", "given_", "words"),
    [
        (Normal, (-0.1,), "sigma is -0.1"),
        (Uniform, (0.0,), "half_width is 0.0"),
        (TruncatedNormal, (0.1, 0.1), "beyond is 0.1"),
        (Normal, ("much",), "sigma is 'much'"),
    ],
)
def test_what_is_no_width_is_refused(
    kind: type[Distribution], given_: tuple[object, ...], words: str
) -> None:
    with pytest.raises(InputError, match=words):
        kind(*given_)
