"""The search for insertion and heading, and for kicks."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rules.laws.kick_for_angle import KickForLean, LeanAfterKick
from ascentopt.rules.laws.rule import Pad
from ascentopt.units import deg, km
from tests.rules.cases import ANGLE, SMALL_PLANET, TURNED, Case


def plane(case: Case, state: np.ndarray) -> float:
    momentum = np.cross(state[:3], state[3:6])
    return float(np.arccos(momentum[2] / np.linalg.norm(momentum)))


def test_due_east_of_the_site_no_heading_leads_lower() -> None:
    case = TURNED[0]
    site = case.mission.site.latitude
    orbit = ao.CircularOrbit(altitude=90 * km, inclination=site)
    flight = replace(case.flight, mission=replace(case.mission, orbit=orbit))
    closed = flight.fly(case.values)
    assert closed.heading == pytest.approx(90 * deg, abs=2 * deg)
    assert plane(case, closed.end.state) == pytest.approx(site, abs=1e-4)
    assert np.linalg.norm(closed.end.state[:3]) == pytest.approx(flight.radius, abs=0.1)


def test_west_is_as_good_as_east() -> None:
    case = TURNED[0]
    orbit = ao.CircularOrbit(altitude=90 * km, inclination=140 * deg)
    flight = replace(case.flight, mission=replace(case.mission, orbit=orbit))
    closed = flight.fly(case.values)
    assert plane(case, closed.end.state) == pytest.approx(140 * deg, abs=1e-7)


def test_kicks_that_are_found_help_to_find_others() -> None:
    case = replace(SMALL_PLANET[1])
    pad = case.flight._pad(0.5 * np.pi)
    altitude = ANGLE.at(pad)
    finder, wanted = KickForLean(altitude), [lean * deg for lean in (20.0, 30.0, 34.0, 33.0, 33.5)]
    kicks = [finder(lean, pad) for lean in wanted]
    assert kicks == pytest.approx([KickForLean(altitude)(lean, pad) for lean in wanted], rel=2e-6)
    turned = Pad(mission=pad.mission, sequence=pad.sequence, heading=1.4)
    assert finder(33 * deg, turned) == pytest.approx(
        KickForLean(altitude)(33 * deg, turned), rel=2e-6
    )
    flown = [len(one.flown) for one in finder._known]
    alone = KickForLean(altitude)
    alone(33 * deg, pad)
    assert flown[1] < len(alone._known[0].flown)
    assert flown[0] < 3 * len(alone._known[0].flown)


def test_the_kick_leads_to_the_lean() -> None:
    pad = SMALL_PLANET[1].flight._pad(0.5 * np.pi)
    finder, leaning = KickForLean(ANGLE.at(pad)), LeanAfterKick(ANGLE.at(pad), pad)
    for lean in (20 * deg, 30 * deg, 31 * deg):
        assert leaning(float(np.log(finder(lean, pad)))) == pytest.approx(lean, abs=2e-6)


def test_closing_is_told_how_exactly() -> None:
    case = SMALL_PLANET[0]
    rough = replace(case.flight, slack=1e4).fly(case.values)
    sharp = case.flight.fly(case.values)
    missed = [abs(np.linalg.norm(one.end.state[:3]) - case.flight.radius) for one in (rough, sharp)]
    assert missed[1] < 0.1
    assert missed[0] < 1000.0
