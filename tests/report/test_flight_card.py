"""The flight card: one page, whose words are the flight's numbers."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

import ascentopt as ao
from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.report import Flown, flight_card
from ascentopt.report.card.flight_card import clock_text
from ascentopt.report.card.loads import loads
from ascentopt.report.card.steps import steps
from ascentopt.report.card.waypoints import waypoints
from ascentopt.report.page.sheet import A4, Sheet, text_width
from ascentopt.units import deg, kPa
from tests.flight.rockets import Leaning, boosted, plain
from tests.flight.rockets import mission as plain_mission
from tests.report.flights import KICK, by_hand, launcher, mission, moon_ascent, optimum
from tests.report.looking import assert_sound, beyond_the_page, overlapping, written

LONG = "upper stage with the long name of a committee that could not agree on a shorter one"


def words(figure: Figure) -> list[str]:
    """The texts of a card, from the top down and from left to right."""
    rows = [(-round(box[3] / 3), box[0], text) for text, box in written(figure)]
    return [text for _, _, text in sorted(rows)]


def joined(figure: Figure) -> str:
    return " ".join(words(figure))


def with_boosters() -> Flown:
    """A vehicle with boosters on two clocks; it ends on its way, which a card must bear."""
    plan = ao.FlightPlan(inserting_stage=1)
    endings = (("core", AfterDuration(60.0)), ("upper", AfterDuration(200.0)))
    law = ao.GravityTurn(plan=plan, kick=replace(KICK, angle=2 * deg), endings=endings)
    flight = ao.fly(boosted(), plain_mission(), law)
    return Flown.by_hand(boosted(), plain_mission(), law, flight, name="gravity turn")


@pytest.mark.parametrize("make", [optimum, by_hand, moon_ascent, with_boosters])
def test_it_is_one_page_with_its_texts_apart(make: object, tmp_path: Path) -> None:
    assert callable(make)
    figure = flight_card(make())
    assert figure.get_size_inches() * 25.4 == pytest.approx([210.0, 297.0], abs=0.1)
    assert_sound(figure, tmp_path)


@pytest.mark.parametrize("dpi", [60.0, 90.0, 133.0, 200.0])
def test_it_is_sound_however_finely_it_is_drawn(dpi: float) -> None:
    figure = flight_card(by_hand("Turnstone", LONG))
    figure.set_dpi(dpi)
    assert beyond_the_page(figure) == []
    assert overlapping(figure) == []
    margin = 36.0 / A4[0] * figure.get_figwidth() * dpi
    right = figure.get_figwidth() * dpi - margin
    assert [text for text, box in written(figure) if box[2] > right + 0.01 * right] == []


def test_long_names_are_broken_and_still_fit(tmp_path: Path) -> None:
    figure = flight_card(by_hand("A" * 90, LONG))
    assert_sound(figure, tmp_path)
    assert "committee" in joined(figure)


def test_a_name_that_no_page_holds_is_refused() -> None:
    with pytest.raises(InputError, match="steps, with names that leave no room"):
        flight_card(by_hand("Turnstone", "x" * 2500))


def test_every_event_is_there_with_its_numbers() -> None:
    ascent = optimum()
    found = words(flight_card(ascent))
    for event in ascent.events:
        assert event.name in found
        assert f"{event.time:.1f}" in found
        assert clock_text(event.time) in found
        assert f"{event.altitude / 1e3:.1f}" in found
        assert f"{event.speed:.0f}" in found


def test_the_orbit_and_the_propellant_are_the_ascents() -> None:
    ascent = optimum()
    text = joined(flight_card(ascent))
    assert f"propellant left {ascent.propellant_margin:.1f} kg" in text
    assert f"propellant used {ascent.propellant_used:.1f} kg" in text
    assert f"mass {ascent.final_mass:.1f} kg" in text
    assert f"inertial speed {ascent.events['insertion'].speed:.1f} m/s" in text
    low, high = map(float, re.findall(r"orbit ([\d.]+) x ([\d.]+) km", text)[0])
    assert [low, high] == pytest.approx([300.0, 300.0], abs=0.1)


def test_a_reserve_is_told_beside_what_is_left_beyond_it() -> None:
    flown = by_hand()
    keeping = replace(flown.mission, reserve=ao.PropellantReserve(mass=200.0))
    other = replace(flown, mission=keeping)
    text = joined(flight_card(other))
    assert f"propellant left {flown.propellant_left - 200.0:.1f} kg in second" in text
    assert "beyond a reserve of 200.0 kg" in text
    assert f"propellant used {flown.propellant_used:.1f} kg" in text
    assert "beyond a reserve" not in joined(flight_card(flown))


def test_burns_and_coasts_last_as_long_as_they_do() -> None:
    ascent = optimum()
    text = joined(flight_card(ascent))
    events = ascent.events
    coast = events.rows[-2].time - events["second cut-off"].time
    burn = events["second cut-off"].time - events["second ignition"].time
    assert f"Coast {coast:.1f} s." in re.sub(r"\s+", " ", text)
    assert f"Light; burn {burn:.1f} s." in text
    assert f"Light; burn {ascent.flight_time - events.rows[-2].time:.2f} s." in text


def test_the_cut_off_names_the_apoapsis_that_it_waits_for() -> None:
    step = next(s for s in steps(by_hand()) if s.event == "second cut-off")
    assert "Shut down when the apoapsis is 300.0 km" in step.action


def test_a_jump_of_the_optimum_is_told_with_its_angle() -> None:
    ascent = optimum()
    step = next(s for s in steps(Flown.of(ascent)) if s.event == "pitch-over")
    assert step.time == pytest.approx(ascent.events["pitch-over"].time)
    following = ascent.trajectory.at(step.time)
    told = re.findall(r"at once to ([\d.]+) deg .* heading ([\d.]+) deg", step.action)
    pitch, heading = map(float, told[0])
    assert pitch == pytest.approx(np.degrees(following.pitch), abs=0.06)
    assert heading == pytest.approx(np.degrees(following.heading), abs=0.06)


def test_a_smooth_turn_is_told_by_where_it_should_be() -> None:
    flown = by_hand()
    step = next(s for s in steps(flown) if s.event == "pitch-over")
    assert step.air_speed == pytest.approx(60.0, abs=0.5)
    pitch = float(re.findall(r"be at ([\d.]+) deg", step.action)[0])
    assert pitch == pytest.approx(np.degrees(flown.trajectory.at(step.time + 5.0).pitch), abs=0.06)


def test_a_kick_is_told_as_it_was_given() -> None:
    law = ao.GravityTurn(
        plan=ao.FlightPlan(inserting_stage=1),
        kick=replace(KICK, angle=2 * deg),
        endings=(("second", AfterDuration(50.0)),),
    )
    flight = ao.fly(launcher(), mission(), law)
    step = steps(Flown.by_hand(launcher(), mission(), law, flight))[1]
    assert step.event == "pitch-over"
    assert "Kick: tip over by 2.00 deg towards heading 95.0 deg in 1.0 s" in step.action
    assert step.air_speed == pytest.approx(60.0, abs=0.5)


def test_what_is_dropped_is_what_the_vehicle_loses() -> None:
    flown = with_boosters()
    told = {step.event: step.action for step in steps(flown)}
    for event in flown.events:
        if "separation" in event.name:
            lost = event.mass_before - event.mass_after
            assert f"Drop {lost:.0f} kg; {event.mass_after:.0f} kg fly on." in told[event.name]


def test_steps_are_in_the_order_of_time() -> None:
    for flown in (Flown.of(optimum()), with_boosters()):
        times = [step.time for step in steps(flown)]
        assert times == sorted(times)
        assert times[0] == 0.0
        assert times[-1] == flown.end


def test_angles_are_given_at_round_altitudes_then_at_round_times() -> None:
    flown = Flown.of(optimum())
    points = waypoints(flown, 20)
    altitudes = [float(point.altitude) / 1e3 for point in points]
    round_ones = [a for a in altitudes if abs(a - round(a, 1)) < 1e-4]
    assert len(round_ones) >= 8
    assert {10.0, 100.0} <= {round(a, 3) for a in round_ones}
    cut_off = optimum().events["second cut-off"].time
    later = [float(p.time) for p in points if 100.5e3 < p.altitude < 200e3]
    assert later.pop() == pytest.approx(cut_off)
    assert later
    assert all(time % 10 == pytest.approx(0.0, abs=1e-9) for time in later)
    assert [float(p.time) for p in points] == sorted(float(p.time) for p in points)


def test_angles_are_those_of_the_flight() -> None:
    flown = by_hand()
    for point in waypoints(flown, 12):
        there = flown.trajectory.at(float(point.time))
        if np.isfinite(there.pitch):
            assert point.pitch == pytest.approx(float(there.pitch), abs=1e-3)


@pytest.mark.parametrize("most", [5, 9, 20])
def test_no_more_angles_than_there_is_room_for(most: int) -> None:
    assert 4 <= len(waypoints(Flown.of(optimum()), most)) <= most + 2


def test_peaks_stand_beside_their_limits() -> None:
    ascent = optimum()
    found = {load.name: load for load in loads(Flown.of(ascent))}
    pressure = found["dynamic pressure"]
    event = ascent.events["max dynamic pressure"]
    assert pressure.peak * kPa == pytest.approx(event.dynamic_pressure)
    assert pressure.time == pytest.approx(event.time)
    assert pressure.limit == pytest.approx(40.0)
    assert pressure.verdict == "100 %"
    assert found["q times angle of attack"].limit == pytest.approx(150.0)
    assert found["axial acceleration"].verdict == "no limit"
    drop = found["heating at the fairing's drop"]
    assert drop.peak <= 1135.0 * 1.001


def test_a_broken_limit_is_called_so() -> None:
    flown = by_hand()
    tight = replace(
        flown.mission,
        limits=ao.FlightLimits(dynamic_pressure=20 * kPa, pitch_rate=1.0 * deg),
    )
    other = replace(flown, mission=tight)
    found = {load.name: load for load in loads(other)}
    assert found["dynamic pressure"].verdict.startswith("EXCEEDED, 16")
    turn = found["turn rate of the thrust"]  # the law lets go of the kick with a jump
    assert (turn.shown, turn.verdict) == ("a jump", "EXCEEDED")
    assert "a jump" in words(flight_card(other))


def test_the_rate_of_a_smooth_turn_is_measured() -> None:
    """The law leans at 0.4 deg/s at first, beside which the horizon turns by a hundredth."""
    law = Leaning(ao.FlightPlan(inserting_stage=1), {"upper": AfterDuration(60.0)})
    flight = ao.fly(plain(), plain_mission(), law)
    limited = replace(plain_mission(), limits=ao.FlightLimits(pitch_rate=0.5 * deg))
    found = {one.name: one for one in loads(Flown.by_hand(plain(), limited, law, flight))}
    assert found["turn rate of the thrust"].peak == pytest.approx(0.4, rel=0.03)
    assert found["turn rate of the thrust"].verdict in ("79 %", "80 %", "81 %")


def test_without_air_no_load_of_the_air_is_shown() -> None:
    names = [load.name for load in loads(Flown.of(moon_ascent()))]
    assert names == ["axial acceleration"]


def test_the_caution_stands_on_it() -> None:
    text = re.sub(r"\s+", " ", joined(flight_card(optimum())))
    assert "Preliminary analysis only. Real launches endanger people" in text
    assert "a licensed practitioner signs." in text


def test_signs_of_mathematics_in_names_are_left_alone() -> None:
    figure = flight_card(by_hand("Cost $x^2$ rocket"))
    assert "Flight card: Cost $x^2$ rocket" in words(figure)


def test_lines_are_broken_before_they_are_too_wide() -> None:
    sheet = Sheet(Figure(), 1.0, writing=False)
    text = "a few words, and oneextraordinarilylongwordthatfitsnowhere at the end"
    lines = sheet.wrapped(text, 60.0, 8.0)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert all(text_width(line, 8.0, bold=False) <= 60.0 for line in lines)


def test_a_clash_would_be_found() -> None:
    figure = Figure(figsize=(A4[0] / 72, A4[1] / 72))
    figure.text(0.1, 0.5, "one text")
    figure.text(0.11, 0.5, "another")
    assert overlapping(figure) == [("one text", "another")]


def test_minutes_and_seconds() -> None:
    assert [clock_text(t) for t in (0.0, 59.96, 70.14, 3698.04)] == [
        "0:00.0",
        "1:00.0",
        "1:10.1",
        "61:38.0",
    ]


def test_the_launcher_is_the_one_that_flew() -> None:
    text = joined(flight_card(by_hand()))
    assert f"{launcher().lift_off_mass:.0f} kg at lift-off" in text
    assert "Steering: steered by hand." in text


def test_an_end_in_no_orbit_is_no_insertion() -> None:
    flown = with_boosters()
    assert not flown.in_orbit
    last = steps(flown)[-1]
    assert last.event == "end of flight"
    assert last.action.startswith("Shut down, in no orbit: on a path of")
    text = joined(flight_card(flown))
    assert "At its end, in no orbit" in text
    assert "end of flight at" in text
    assert "insertion at" not in text
    assert not any("insertion" in step.event for step in steps(flown))


def test_an_end_in_an_orbit_is_one() -> None:
    text = joined(flight_card(by_hand()))
    assert "In orbit" in text
    assert "insertion at" in text
