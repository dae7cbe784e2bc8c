"""A steep plane is entered heading north or south: the air, the spin and the flattening choose."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import deg, km
from examples.first_ascent import TURNSTONE
from tests.optimal.three_stages import inclination, launch_to

STEEP = ao.CircularOrbit(altitude=500 * km, inclination=97 * deg)


@cache
def flown(latitude: float) -> ao.Ascent:
    """From so many degrees of latitude."""
    light = replace(TURNSTONE, payload_mass=500.0)
    return ao.optimize(light, launch_to(STEEP, latitude * deg))


def northward(ascent: ao.Ascent) -> float:
    """m/s towards the north when the first stage is dropped."""
    staged = ascent.events["first separation"].time
    arc = next(arc for arc in ascent.trajectory.arcs if arc.times[-1] >= staged - 1e-6)
    return float(arc.states[-1, 5])


def test_the_mirrored_pad_uses_the_same_propellant() -> None:
    north, south = flown(30.0), flown(-30.0)
    assert north.certificate.verdict is south.certificate.verdict is Verdict.CERTIFIED
    assert north.propellant_used == pytest.approx(south.propellant_used, rel=1e-6)


def test_the_mirrored_flight_heads_the_other_way() -> None:
    north, south = flown(30.0), flown(-30.0)
    assert north.plan.southward is not south.plan.southward
    assert northward(north) == pytest.approx(-northward(south), rel=1e-3)
    assert abs(northward(north)) > 1000.0


@pytest.mark.parametrize("latitude", [30.0, -30.0])
def test_the_flight_goes_where_its_plan_says_and_into_its_plane(latitude: float) -> None:
    ascent = flown(latitude)
    assert (northward(ascent) < 0.0) is ascent.plan.southward
    assert inclination(ascent) == pytest.approx(97.0, abs=1e-4)


@pytest.mark.parametrize("latitude", [30.0, -30.0])
def test_both_headings_were_solved_and_the_better_one_is_the_answer(latitude: float) -> None:
    best, *others = flown(latitude).candidates
    turned = replace(best.plan, southward=not best.plan.southward)
    assert best.standing is Standing.BEST
    (other,) = (one for one in others if one.plan == turned)
    assert best.propellant_used is not None
    assert other.propellant_used is not None
    assert best.propellant_used < other.propellant_used < best.propellant_used + 50.0
