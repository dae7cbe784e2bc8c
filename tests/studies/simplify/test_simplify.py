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
from tests.optimal.launchers import lander, moon_mission
from tests.studies.wren import MISSION, VEHICLE


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def curve(ascent: ao.Ascent) -> tuple[ao.SimplerProgramme, ...]:
    return ao.simplify_curve(ascent, range(2, 5))


@pytest.fixture(scope="module")
def by_altitude(ascent: ao.Ascent) -> ao.SimplerProgramme:
    return ao.simplify(ascent, knots=3, against=ao.Against.ALTITUDE)


def miss(programme: ao.SimplerProgramme, mu: float, radius: float) -> tuple[float, float, float]:
    """Metres of radius, m/s of climb and of level speed."""
    state = programme.flight.final_state
    position, velocity = state[:3], state[3:6]
    distance = float(np.linalg.norm(position))
    climb = float(position @ velocity) / distance
    level = sqrt(float(velocity @ velocity) - climb**2)
    return distance - radius, climb, level - sqrt(mu / radius)


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
    curve: tuple[ao.SimplerProgramme, ...], by_altitude: ao.SimplerProgramme
) -> None:
    for one in (*curve, by_altitude):
        height, climb, speed = miss(one, 5.25e12, 1020 * km)
        # 0.1 m and 1e-4 m/s are what is closed; compiled and independent flights differ by as much.
        assert height == pytest.approx(0.0, abs=0.2)
        assert climb == pytest.approx(0.0, abs=2e-4)
        assert speed == pytest.approx(0.0, abs=2e-4)


def test_a_direct_ascent_is_closed_by_its_last_knots() -> None:
    moon = moon_mission()
    stage = replace(lander().stages[0], restarts=0)
    ascent = ao.optimize(replace(lander(), stages=(stage,)), moon)
    one = ao.simplify(ascent, knots=2)
    mu, radius = moon.body.gravitational_parameter, moon.body.radius + 100 * km
    height, climb, speed = miss(one, mu, radius)
    assert height == pytest.approx(0.0, abs=0.2)
    assert (climb, speed) == pytest.approx((0.0, 0.0), abs=2e-4)
    assert 0.0 < one.penalty < 2e-3 * ascent.propellant_used


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


def test_the_altimeter_may_be_followed(by_altitude: ao.SimplerProgramme) -> None:
    assert by_altitude.against is ao.Against.ALTITUDE
    heights, pitches = np.array(by_altitude.knots).T
    arc = next(a for a in by_altitude.flight.trajectory.arcs if a.name == "lower")
    track = replace(by_altitude.flight.trajectory, arcs=(arc,))
    assert track.pitch == pytest.approx(np.interp(track.altitude, heights, pitches), abs=1e-6)


@pytest.mark.exact(reason="a flight repeated to the last bit, of the very vehicle that flew")
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
    with pytest.raises(ao.InputError, match="Give a file that holds 'simpler programme'"):
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
