"""The card of a simplified programme: its knots and what to do between them, no samples."""

from __future__ import annotations

from functools import lru_cache
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.report import Flown, flight_card
from ascentopt.report.card.knots import knot_table
from ascentopt.units import deg, km
from tests.report.looking import assert_sound, written
from tests.report.scenarios import optimum_of


@lru_cache(maxsize=4)
def flown(against: ao.Against) -> tuple[ao.SimplerProgramme, Flown]:
    ascent = optimum_of("marble-thick-air")
    programme = ao.simplify(ascent, knots=3, against=against)
    return programme, Flown.simplified(ascent, programme)


@pytest.mark.parametrize("against", [ao.Against.TIME, ao.Against.ALTITUDE])
def test_the_card_is_sound_and_has_the_knots_alone(against: ao.Against, tmp_path: Path) -> None:
    _, subject = flown(against)
    card = flight_card(subject)
    assert_sound(card, tmp_path)
    words = [text for text, _ in written(card)]
    assert "Pitch programme" in words
    assert "Angles to pass through" not in words
    assert not any("throttle" in word.lower() for word in words)
    assert not any(word in ("-0.0", "-0.00") for word in words)


def test_each_knot_is_a_row_with_where_the_flight_passes_it() -> None:
    programme, subject = flown(ao.Against.TIME)
    table = knot_table(subject)
    assert table is not None
    rows = {row[0]: row for row in table.rows}
    for time, pitch in programme.knots:
        row = rows[f"{time:.1f}"]
        there = subject.trajectory.at(time)
        assert float(row[1]) == pytest.approx(float(there.altitude) / km, abs=0.006)
        assert float(row[2]) == pytest.approx(pitch / deg, abs=0.06)


def test_what_to_do_between_two_knots_leads_from_one_to_the_next() -> None:
    programme, subject = flown(ao.Against.TIME)
    table = knot_table(subject)
    assert table is not None
    (time, pitch), (later, lower) = programme.knots[:2]
    (row,) = [row for row in table.rows if row[0] == f"{time:.1f}" and "turn" in row[4]]
    rate, end = float(row[4].split("evenly, ")[1].split(" ")[0]), float(row[4].split("to ")[1][:-4])
    assert pitch / deg - rate * (later - time) == pytest.approx(end, abs=0.006 * (later - time))
    assert end == pytest.approx(lower / deg, abs=0.06)


def test_the_last_burn_is_told_as_it_was_flown() -> None:
    _, subject = flown(ao.Against.TIME)
    table = knot_table(subject)
    assert table is not None
    last = subject.stretches[-1]
    assert table.rows[-1][0] == f"{last.start:.1f}"
    assert table.rows[-1][2] == "0.0"


def test_altitudes_are_told_by_the_altimeter() -> None:
    programme, subject = flown(ao.Against.ALTITUDE)
    table = knot_table(subject)
    assert table is not None
    heights = [row[1] for row in table.rows]
    assert all(f"{height / km:.2f}" in heights for height, _ in programme.knots)
    assert any("deg per km" in row[4] for row in table.rows)


def test_a_flight_that_was_not_steered_by_knots_has_none() -> None:
    assert knot_table(Flown.of(optimum_of("marble-thick-air"))) is None
