"""Any number of burns that the vehicle allows and that pays, of any stage."""

from __future__ import annotations

from collections.abc import Callable
from functools import cache
from itertools import pairwise

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km, kN, tonne
from examples.first_ascent import PELICAN_POINT, TURNSTONE
from tests.optimal.three_stages import (
    inclination,
    launch_to,
    lengths,
    orbit_at,
    spoonbill,
    with_restarts,
)

GEOSTATIONARY = ao.CircularOrbit(altitude=35786 * km, inclination=0.0)
INSTANT = 0.1
"""s. No engine comes up to its thrust and is shut down again in less."""

KEPT = 1e-6
"""Of the propellant used: a hundredth of what is promised for a restart more."""


@cache
def low(restarts: int) -> ao.Ascent:
    """To 300 km, with so many restarts of the second stage."""
    return ao.optimize(with_restarts(TURNSTONE, restarts), PELICAN_POINT)


@cache
def high(restarts: int) -> ao.Ascent:
    """To the geostationary orbit, with so many restarts of the third stage."""
    mission = launch_to(GEOSTATIONARY, 28.5 * deg)
    return ao.optimize(spoonbill(restarts, payload=2000.0), mission)


def no_worse(more: ao.Ascent, fewer: ao.Ascent) -> bool:
    return more.propellant_margin >= fewer.propellant_margin - KEPT * fewer.propellant_used


@pytest.mark.slow
def test_a_restart_more_never_leaves_less() -> None:
    ascents = [high(restarts) for restarts in (1, 2, 3)]
    assert all(ascent.certificate.verdict is Verdict.CERTIFIED for ascent in ascents)
    assert all(no_worse(more, fewer) for fewer, more in pairwise(ascents))


@pytest.mark.slow
@pytest.mark.parametrize("restarts", [2, 3])
def test_restarts_that_do_not_pay_cost_nothing(restarts: int) -> None:
    assert no_worse(low(restarts), low(1))
    assert low(restarts).certificate.verdict is Verdict.CERTIFIED


@pytest.mark.slow
def test_the_first_restart_pays_for_a_circle_and_the_second_for_a_plane() -> None:
    assert low(1).propellant_margin > low(0).propellant_margin + 50.0
    assert high(2).propellant_margin > high(1).propellant_margin + 100.0


@pytest.mark.slow
def test_no_more_burns_are_planned_than_the_stage_allows() -> None:
    assert [low(0).plan.restarts, low(1).plan.restarts] == [0, 1]
    assert [high(1).plan.restarts, high(2).plan.restarts] == [1, 2]


@pytest.mark.parametrize(("flown", "restarts"), [(low, 0), (low, 1), (high, 1), (high, 2)])
def test_every_burn_and_coast_lasts(flown: Callable[[int], ao.Ascent], restarts: int) -> None:
    assert min(lengths(flown(restarts))) > INSTANT


@pytest.mark.slow
@pytest.mark.parametrize("restarts", [2, 3])
def test_every_burn_lasts_where_more_are_allowed_than_pay(restarts: int) -> None:
    assert min(lengths(low(restarts))) > INSTANT


def kicked(restarts: int) -> ao.Vehicle:
    """A strong second stage with much propellant under a tiny third, which is lit once."""
    first, second, _ = spoonbill().stages
    second = ao.Stage(
        name="second", propellant_mass=second.propellant_mass, dry_mass=second.dry_mass,
        engine=second.engine, restarts=restarts,
    )  # fmt: skip
    third = ao.Stage(
        name="third", propellant_mass=2.5 * tonne, dry_mass=0.4 * tonne,
        engine=ao.Engine(vacuum_thrust=25 * kN, vacuum_isp=320.0),
    )  # fmt: skip
    return ao.Vehicle(
        name="Dunlin", payload_mass=900.0, stages=(first, second, third),
        fairing=spoonbill().fairing, aerodynamics=spoonbill().aerodynamics,
    )  # fmt: skip


@cache
def stationed(restarts: int) -> ao.Ascent:
    """To the geostationary orbit, with so many restarts of the second of three stages."""
    return ao.optimize(kicked(restarts), launch_to(GEOSTATIONARY, 28.5 * deg))


@pytest.mark.slow
def test_a_lower_stage_is_lit_again_at_the_node_and_leaves_the_apoapsis_to_the_last() -> None:
    ascent = stationed(1)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.plan.relit == (1,)
    assert inclination(ascent) < 1e-4
    assert min(lengths(ascent)) > INSTANT
    names = [arc.name for arc in ascent.trajectory.arcs]
    coasts = [k for k, name in enumerate(names) if name.startswith("coast")]
    parking, way = (orbit_at(ascent, k) for k in coasts)
    assert parking.apoapsis_radius < 7500 * km
    assert way.apoapsis_radius > 40000 * km


@pytest.mark.slow
@pytest.mark.xfail(
    reason="without the restart no payload from 850 to 950 kg is found to fly (short by 2220 to "
    "2412 m/s, 139 kg named); asked for 1000 kg the refusal names 979 kg (short by 34 m/s)"
)
def test_the_restart_of_a_lower_stage_pays() -> None:
    once, twice = stationed(0), stationed(1)
    assert once.plan.relit == ()
    assert twice.propellant_margin > once.propellant_margin + 500.0
