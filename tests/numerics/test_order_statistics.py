"""Shares that draws show, against the binomial formula written out and against printed numbers."""

from __future__ import annotations

from fractions import Fraction
from math import comb

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.errors import InputError
from ascentopt.numerics.order_statistics import covered_share, least_draws, most_failures

PRINTED = {
    0.99: (230, 388, 531, 667),
    0.9973: (852, 1440, 1970, 2473),
    0.99865: (1705, 2880, 3941, 4947),
}
"""Least number of draws at a consumer's risk of 10 %, with 0 to 3 failures."""


def chance_of_so_few(count: int, failures: int, share: Fraction) -> Fraction:
    """That at most so many of the draws fail, in whole numbers."""
    lost = 1 - share
    terms = (comb(count, j) * lost**j * share ** (count - j) for j in range(failures + 1))
    return sum(terms, Fraction(0))


@pytest.mark.parametrize("share", PRINTED)
def test_the_least_numbers_of_draws_are_those_in_print(share: float) -> None:
    assert tuple(least_draws(share, 0.9, k) for k in range(4)) == PRINTED[share]


@given(
    percent=st.integers(50, 99), confidence=st.integers(50, 99), failures=st.integers(0, 6)
)
def test_the_least_number_shows_the_share_and_one_less_does_not(
    percent: int, confidence: int, failures: int
) -> None:
    share, risk = Fraction(percent, 100), 1 - Fraction(confidence, 100)
    count = least_draws(percent / 100, confidence / 100, failures)
    # Where the chance is the risk itself, one of the two floats may be on either side of the other.
    slack = Fraction(1, 10**12)
    assert chance_of_so_few(count, failures, share) <= risk + slack
    assert count == failures + 1 or chance_of_so_few(count - 1, failures, share) > risk - slack


@given(count=st.integers(30, 3000), percent=st.integers(50, 99), confidence=st.integers(50, 99))
def test_as_many_may_fail_as_still_show_it(count: int, percent: int, confidence: int) -> None:
    share, sure = percent / 100, confidence / 100
    if least_draws(share, sure) > count:
        with pytest.raises(InputError, match=f"takes {least_draws(share, sure)} at least"):
            most_failures(count, share, sure)
        return
    failures = most_failures(count, share, sure)
    assert least_draws(share, sure, failures) <= count < least_draws(share, sure, failures + 1)


@given(count=st.integers(1, 300), failures=st.integers(0, 40), confidence=st.integers(50, 99))
def test_the_covered_share_is_where_the_binomial_chance_is_the_risk(
    count: int, failures: int, confidence: int
) -> None:
    share = covered_share(count, failures, confidence / 100)
    if failures >= count:
        assert share == 0.0
        return
    assert 0.0 < share < 1.0
    found = chance_of_so_few(count, failures, Fraction(share))
    assert float(found) == pytest.approx(1 - confidence / 100, rel=1e-9)


def test_what_is_promised_is_kept_as_often_as_is_said() -> None:
    """Of many studies of 388 draws the bound that one failure leaves misses in 10 % at most."""
    rng = np.random.Generator(np.random.Philox(key=[5, 8]))
    missed = []
    for _ in range(2000):
        draws = np.sort(rng.exponential(size=388))
        bound = draws[-1 - most_failures(388, 0.99, 0.9)]
        missed.append(1 - np.exp(-bound) < 0.99)
    assert 0.07 < np.mean(missed) < 0.12


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: least_draws(99.0, 0.9), "looks like per cent: write 0.99"),
        (lambda: least_draws(0.99, 1.0), "confidence is 1.0"),
        (lambda: least_draws(0.99, 0.9, -1), "failures is -1"),
        (lambda: most_failures(0, 0.99, 0.9), "count is 0"),
        (lambda: most_failures(229, 0.99, 0.9), "takes 230 at least"),
    ],
)
def test_what_no_draws_show_is_refused(call: object, words: str) -> None:
    with pytest.raises(InputError, match=words):
        call()  # type: ignore[operator]
