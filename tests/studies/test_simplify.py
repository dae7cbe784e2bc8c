"""Pitch programmes with few knots: they reach the orbit, keep the limits, and cost ever less."""

from __future__ import annotations

from dataclasses import replace
from itertools import pairwise
from math import sqrt
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.steering.knots import Knots, knots_of
from ascentopt.units import deg, km
from tests.studies.test_comparison import MISSION, VEHICLE

RADIUS = 680 * km


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def curve(ascent: ao.Ascent) -> tuple[ao.SimplerProgramme, ...]:
    return ao.simplify_curve(ascent, range(2, 5))


@pytest.fixture(scope="module")
def direct() -> ao.SimplerProgramme:
    once = replace(VEHICLE, stages=(VEHICLE.stages[0], replace(VEHICLE.stages[1], restarts=0)))
    return ao.simplify(ao.optimize(once, MISSION), knots=3, against=ao.Against.ALTITUDE)


def miss(programme: ao.SimplerProgramme) -> tuple[float, float, float]:
    """Metres of radius, m/s of climb and of level speed."""
    state = programme.flight.final_state
    position, velocity = state[:3], state[3:6]
    radius = float(np.linalg.norm(position))
    climb = float(position @ velocity) / radius
    level = sqrt(float(velocity @ velocity) - climb**2)
    return radius - RADIUS, climb, level - sqrt(3.5e12 / RADIUS)


def test_more_knots_cost_no_more(curve: tuple[ao.SimplerProgramme, ...]) -> None:
    assert [len(one.knots) for one in curve] == [2, 3, 4]
    for fewer, more in pairwise(curve):
        assert more.penalty <= fewer.penalty + 1e-3


def test_no_programme_beats_the_optimum(
    ascent: ao.Ascent, curve: tuple[ao.SimplerProgramme, ...]
) -> None:
    for one in curve:
        assert -1e-4 * ascent.propellant_used < one.penalty < 2e-3 * ascent.propellant_used
        assert one.propellant_used - ascent.propellant_used == one.penalty


def test_it_ends_in_the_orbit(
    curve: tuple[ao.SimplerProgramme, ...], direct: ao.SimplerProgramme
) -> None:
    for one in (*curve, direct):
        height, climb, speed = miss(one)
        # 0.1 m and 1e-4 m/s are what is closed; compiled and independent flights differ by as much.
        assert height == pytest.approx(0.0, abs=0.2)
        assert climb == pytest.approx(0.0, abs=2e-4)
        assert speed == pytest.approx(0.0, abs=2e-4)


def test_limits_are_kept(curve: tuple[ao.SimplerProgramme, ...]) -> None:
    limit = MISSION.limits.q_alpha
    assert limit is not None
    for one in curve:
        track = one.flight.trajectory
        assert one.broken == ()
        assert np.nanmax(track.q_alpha) < 1.001 * limit


def test_the_law_follows_the_knots(curve: tuple[ao.SimplerProgramme, ...]) -> None:
    for one in curve:
        times, pitches = np.array(one.knots).T
        arc = next(a for a in one.flight.trajectory.arcs if a.name == "lower")
        track = replace(one.flight.trajectory, arcs=(arc,))
        assert track.pitch == pytest.approx(np.interp(track.time, times, pitches), abs=1e-6)


def test_the_altimeter_may_be_followed(direct: ao.SimplerProgramme) -> None:
    assert direct.against is ao.Against.ALTITUDE
    heights, pitches = np.array(direct.knots).T
    arc = next(a for a in direct.flight.trajectory.arcs if a.name == "lower")
    track = replace(direct.flight.trajectory, arcs=(arc,))
    assert track.pitch == pytest.approx(np.interp(track.altitude, heights, pitches), abs=1e-6)


def test_it_is_saved_loaded_and_flown_again(
    curve: tuple[ao.SimplerProgramme, ...], tmp_path: Path
) -> None:
    curve[0].save(tmp_path / "programme.json")
    again = ao.SimplerProgramme.load(tmp_path / "programme.json")
    assert again.law == curve[0].law
    assert str(again) == str(curve[0])
    flown = ao.fly(VEHICLE, MISSION, again.law)
    assert np.array_equal(flown.final_state, curve[0].flight.final_state)
    (tmp_path / "other.json").write_text('{"form": "comparison", "version": 1}', encoding="utf-8")
    with pytest.raises(ao.InputError, match="Save the programme again"):
        ao.SimplerProgramme.load(tmp_path / "other.json")


def test_the_table_is_for_people(curve: tuple[ao.SimplerProgramme, ...]) -> None:
    text = str(curve[0])
    assert "time since lift-off (s)" in text
    assert "pitch (deg)" in text
    time, pitch = curve[0].knots[1]
    assert f"{time:.2f}" in text
    assert f"{pitch / deg:.2f}" in text


@pytest.mark.parametrize("knots", [1, 0, 31])
def test_the_number_of_knots_is_checked(ascent: ao.Ascent, knots: int) -> None:
    with pytest.raises(ao.InputError, match="they must be 2 to 30"):
        ao.simplify(ascent, knots=knots)


def test_phases_switch_from_the_compass_where_the_programme_leans() -> None:
    knots = Knots(against=ao.Against.TIME, abscissae=(10.0, 30.0), pitches=(90.0 * deg, 66.0 * deg))
    phases = knots.phases(1.5)
    assert knots_of(phases) == (knots, 1.5)
    ends = [phase.until.at for phase in phases if phase.until is not None]  # type: ignore[attr-defined]
    assert ends == pytest.approx([10.0, 20.0, 30.0])
    headings = [phase.formula.heading for phase in phases]  # type: ignore[attr-defined]
    assert headings == [1.5, 1.5, None, None]
