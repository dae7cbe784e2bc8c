"""A refusal tells how much payload flies, and by how much ideal delta-v what was asked is short.

Both follow from the greatest payload, so that neither depends on how much too much was asked.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from itertools import pairwise

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.payload.freed import TO_SPARE
from ascentopt.optimal.result.certificate import Verdict
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.explain.launches import (
    fixed_thrust_under_limits_on_all_loads,
    throttled_on_the_way_to_a_far_circle,
)
from tests.optimal.launchers import Launch

BARE = replace(TURNSTONE, fairing=None)
FREE = replace(PELICAN_POINT, limits=ao.FlightLimits.none())
TOO_MUCH = (2900.0, 3200.0, 4500.0)
"""kg, each beyond what reaches the orbit without limits and without a fairing."""


@cache
def refused(payload: float) -> ao.InfeasibleAscent:
    """Without limits and without a fairing."""
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(replace(BARE, payload_mass=payload), FREE)
    return caught.value


@cache
def limited(payload: float) -> ao.InfeasibleAscent:
    """Within limits, and with a fairing."""
    with pytest.raises(ao.InfeasibleAscent) as caught:
        ao.optimize(replace(TURNSTONE, payload_mass=payload), PELICAN_POINT)
    return caught.value


def named(refusal: ao.InfeasibleAscent) -> float:
    """kg of payload that the refusal says to fly."""
    found = re.search(r"It is reached with ([0-9.]+) kg of payload", str(refusal))
    assert found is not None, refusal
    return float(found[1])


def short(refusal: ao.InfeasibleAscent) -> float:
    """m/s, as in its words."""
    assert refusal.shortfall is not None
    assert f"short by {refusal.shortfall:.1f} m/s" in str(refusal)
    return refusal.shortfall


@pytest.mark.slow
def test_the_more_is_asked_the_more_is_missing() -> None:
    missing = [short(refused(payload)) for payload in TOO_MUCH]
    assert all(less < more for less, more in pairwise([0.0, *missing]))


@pytest.mark.slow
def test_the_payload_named_is_the_same_whatever_was_asked() -> None:
    first, *others = (named(refused(payload)) for payload in TOO_MUCH)
    assert others == pytest.approx([first] * len(others), rel=1e-3)
    assert refused(3200.0).diagnosis.payload == pytest.approx(first, rel=1e-3)


@pytest.mark.parametrize("payload", TOO_MUCH)
def test_what_is_missing_is_what_the_named_payload_has_more_of_ideal_delta_v(
    payload: float,
) -> None:
    refusal = refused(payload)
    asked, flies = (replace(BARE, payload_mass=one) for one in (payload, named(refusal)))
    more = flies.ideal_delta_v - asked.ideal_delta_v
    assert short(refusal) == pytest.approx(more - TO_SPARE, abs=1.0)


@pytest.mark.slow
def test_the_payload_named_flies_and_one_per_cent_more_does_not() -> None:
    most = named(refused(3200.0))
    ascent = ao.optimize(replace(BARE, payload_mass=most), FREE)
    assert ascent.certificate.verdict is not Verdict.DOUBTFUL
    assert 0.0 <= ascent.propellant_margin < 0.005 * most
    assert short(refused(1.01 * most)) > 0.0


@pytest.mark.parametrize("payload", TOO_MUCH)
def test_no_limit_is_to_be_relaxed_where_there_is_none(payload: float) -> None:
    words = str(refused(payload)).lower()
    assert "relax" not in words
    assert "limits on loads" not in words
    assert "heating" not in words


@pytest.mark.parametrize("payload", TOO_MUCH)
def test_numbers_are_written_as_people_write_them(payload: float) -> None:
    assert not re.search(r"\d[eE][-+]?\d", str(refused(payload)))


NEARBY = (2990.0, 3000.0, 3050.0, 3100.0)
"""kg, within limits."""


@pytest.mark.slow
def test_within_limits_the_more_is_asked_the_more_is_missing() -> None:
    missing = [short(limited(payload)) for payload in (2800.0, 3500.0, 5000.0)]
    assert all(less < more for less, more in pairwise([0.0, *missing]))


@pytest.mark.slow
def test_within_limits_a_little_more_is_never_missing_less() -> None:
    missing = [short(limited(payload)) for payload in NEARBY]
    assert all(less < more for less, more in pairwise(missing))


@pytest.mark.slow
def test_within_limits_the_payload_named_is_the_same_whatever_was_asked() -> None:
    first, *others = (named(limited(payload)) for payload in NEARBY)
    assert others == pytest.approx([first] * len(others), rel=1e-3)


@cache
def refused_launch(launch: Callable[[], Launch]) -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as caught:
        launch().optimum()
    return caught.value


@pytest.mark.slow
@pytest.mark.parametrize(
    "launch", [fixed_thrust_under_limits_on_all_loads, throttled_on_the_way_to_a_far_circle]
)
def test_under_a_limit_on_acceleration_a_refusal_tells_what_is_missing_and_what_would_fly(
    launch: Callable[[], Launch],
) -> None:
    """In m/s, of a flight that keeps the limits; not by how much another would break them.

    A first stage of fixed thrust dived until drag held it back, to 20 times the limit on q alpha.
    """
    refusal = refused_launch(launch)
    assert 10.0 < short(refusal) < 3000.0
    assert "within the limits" in str(refusal)
    assert " beyond " not in str(refusal)
    assert 0.0 < named(refusal) < launch().vehicle.payload_mass
    assert refusal.diagnosis.payload == pytest.approx(named(refusal), rel=1e-3)


@pytest.mark.slow
def test_a_little_less_than_the_payload_named_flies_within_all_limits() -> None:
    """With thrust that is fixed, and limits on acceleration, dynamic pressure and q alpha."""
    launch = fixed_thrust_under_limits_on_all_loads()
    less = 0.99 * named(refused_launch(fixed_thrust_under_limits_on_all_loads))
    ascent = ao.optimize(replace(launch.vehicle, payload_mass=less), launch.mission)
    flown, limits = ascent.trajectory, launch.mission.limits
    for load, limit in (
        (flown.dynamic_pressure, limits.dynamic_pressure),
        (flown.q_alpha, limits.q_alpha),
        (flown.axial_acceleration, limits.axial_acceleration),
    ):
        assert limit is not None
        assert 0.5 * limit < np.nanmax(load) < 1.01 * limit
    assert ascent.certificate.verdict is not Verdict.DOUBTFUL
    assert ascent.propellant_margin > 0.0
