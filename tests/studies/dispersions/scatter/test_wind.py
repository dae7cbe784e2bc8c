"""Winds of draws: as they were measured, and as the model says."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import trapezoid

import ascentopt as ao
from ascentopt.errors import InputError
from ascentopt.studies.dispersions.scatter.wind import RandomWind, WindProfiles
from ascentopt.units import km
from tests.studies.dispersions.scatter.cases import PROFILES

WIND = RandomWind(altitude=[0.0, 10 * km, 24 * km], sigma=[4.0, 20.0, 6.0], correlation_length=3e3)
OWN = ao.Wind(altitude=[0.0, 6 * km, 9 * km], eastward=[3.0, 4.0, 9.0], northward=[1.0, 0.0, 2.0])


def test_a_random_wind_scatters_at_each_altitude_as_it_says() -> None:
    drawn = WIND.drawn(3, 0, 20000, None)
    expected = np.interp(drawn.altitude, WIND.altitude, WIND.sigma)
    for side in (drawn.eastward, drawn.northward):
        assert np.std(side, axis=0) == pytest.approx(expected, rel=0.03)
        assert np.abs(np.mean(side, axis=0) / expected).max() < 0.04
    assert stats.kstest(drawn.eastward[:, 7] / expected[7], stats.norm.cdf).pvalue > 0.01


def test_it_is_correlated_by_the_exponential_of_the_distance() -> None:
    drawn = WIND.drawn(4, 0, 20000, None)
    found = np.corrcoef(drawn.eastward.T)
    apart = np.abs(drawn.altitude[:, None] - drawn.altitude)
    assert np.abs(found - np.exp(-apart / 3e3)).max() < 0.03
    across = np.corrcoef(drawn.eastward.T, drawn.northward.T)[: len(apart), len(apart) :]
    assert np.abs(across).max() < 0.035


def test_its_knots_are_no_more_than_a_quarter_of_the_length_apart() -> None:
    for length in (3e3, 3e3 * (1 + 1e-10), 3e3 * (1 - 1e-10)):
        one = RandomWind(altitude=[0.0, 24e3], sigma=[4.0, 6.0], correlation_length=length)
        assert len(one.profile.knots) == 33


@pytest.mark.parametrize("own", [None, OWN])
def test_each_profile_is_met_as_often_and_replaces_the_missions_wind(own: ao.Wind | None) -> None:
    drawn = PROFILES.drawn(3, 0, 3000, own)
    whole = drawn.eastward + (0.0 if own is None else np.asarray(own.at(drawn.altitude)[0]))
    given = [np.asarray(one.at(drawn.altitude)[0]) for one in PROFILES.profiles]
    met = [int(np.sum(np.abs(whole - one).max(axis=1) < 1e-9)) for one in given]
    assert sum(met) == 3000
    assert stats.chisquare(met).pvalue > 0.01


def test_means_are_over_altitude() -> None:
    drawn = PROFILES.drawn(3, 0, 50, None)
    table = drawn.means()
    area = trapezoid(drawn.northward, drawn.altitude, axis=1) / 9e3
    assert table[:, 1] == pytest.approx(area)


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: WindProfiles([OWN]), "it must hold 2 or more"),
        (
            lambda: RandomWind(altitude=[0, 1e4], sigma=[5, 9], correlation_length=3.0),
            "looks like km",
        ),
        (
            lambda: RandomWind(altitude=[0, 1e4], sigma=[0, 0], correlation_length=3e3),
            "sigma at its greatest",
        ),
        (
            lambda: RandomWind(altitude=[1e4, 0], sigma=[5, 9], correlation_length=3e3),
            "Sort the table",
        ),
        (
            lambda: RandomWind(altitude=[0, 1e4], sigma=[5, 500], correlation_length=3e3),
            "looks like km/h",
        ),
    ],
)
def test_what_is_no_wind_is_refused(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()  # type: ignore[operator]
