"""Histories against time."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from ascentopt.report import history_figure
from ascentopt.report.page.clock import Clock, round_times
from tests.report.flights import by_hand, moon_ascent, optimum
from tests.report.looking import (
    assert_sound,
    axes_labelled,
    axis_labels,
    level_lines,
    upright_lines,
    written,
)


@pytest.mark.parametrize("make", [optimum, by_hand, moon_ascent])
def test_texts_are_apart_and_on_the_page(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(history_figure(make()), tmp_path)


def test_every_axis_has_a_unit() -> None:
    labels = axis_labels(history_figure(optimum()))
    units = (", km", ", km/s", ", deg", ", t", ", kPa", ", kPa deg", ", g", ", s", "throttle")
    assert len(labels) == 10
    assert all(any(unit in label for unit in units) for label in labels)


def test_limits_are_drawn_at_their_values() -> None:
    figure = history_figure(optimum())
    assert level_lines(axes_labelled(figure, "dynamic pressure")) == [pytest.approx(40.0)]
    assert level_lines(axes_labelled(figure, "angle of attack")) == [pytest.approx(150.0)]
    assert level_lines(axes_labelled(figure, "acceleration")) == []


def test_the_curves_are_the_flight() -> None:
    ascent = optimum()
    figure = history_figure(ascent)
    pressure = axes_labelled(figure, "dynamic pressure").lines[0]
    assert np.array_equal(np.asarray(pressure.get_xdata()), ascent.trajectory.time)
    assert np.asarray(pressure.get_ydata()).max() == pytest.approx(40.0, rel=5e-3)
    speeds = axes_labelled(figure, "speed").lines[:2]
    final = [float(np.asarray(line.get_ydata())[-1]) for line in speeds]
    assert final == pytest.approx(
        [ascent.trajectory.speed[-1] / 1e3, ascent.trajectory.air_speed[-1] / 1e3]
    )
    mass = axes_labelled(figure, "mass").lines[0]
    assert np.asarray(mass.get_ydata())[0] == pytest.approx(80.67)


def test_lines_stand_at_the_events_and_the_key_names_them() -> None:
    ascent = optimum()
    figure = history_figure(ascent)
    times = [event.time for event in ascent.events][1:]
    for axes in figure.axes:
        assert upright_lines(axes) == pytest.approx(times)
    key = next(text for text, _ in written(figure) if "pitch-over" in text)
    for number, event in enumerate(ascent.events.rows[1:], start=1):
        assert f"{number} {event.name} {event.time:.1f} s" in key


def test_the_ascent_is_not_squashed_by_a_long_coast() -> None:
    ascent = optimum()
    figure = history_figure(ascent)
    figure.draw_without_rendering()
    axes = figure.axes[0]
    left, right = axes.get_window_extent().intervalx
    cut_off = ascent.events["second cut-off"].time
    place = axes.transData.transform((cut_off, 0.0))[0]
    assert (place - left) / (right - left) > 0.7
    burn = axes.transData.transform((ascent.flight_time - 10.0, 0.0))[0]
    assert (burn - left) / (right - left) < 0.97
    key = "\n".join(text for text, _ in written(figure))
    assert "Time is squeezed where it is hatched" in key


def test_without_a_long_coast_time_is_even() -> None:
    clock = Clock.of(by_hand())
    assert clock.coasts == ()
    assert clock.notes == []
    times = np.linspace(0.0, 800.0, 9)
    assert np.diff(clock.forward(times), 2) == pytest.approx(0.0, abs=1e-12)


def test_a_clock_goes_forth_and_back() -> None:
    clock = Clock(4000.0, [(600.0, 2000.0), (2100.0, 3900.0)])
    times = np.array([-50.0, 0.0, 300.0, 600.0, 1234.0, 2050.0, 3000.0, 3950.0, 4100.0])
    assert clock.inverse(clock.forward(times)) == pytest.approx(times, abs=1e-6)
    assert np.all(np.diff(clock.forward(times)) > 0.0)
    assert clock.forward(4000.0) == pytest.approx(1.0)
    assert clock.forward(2000.0) - clock.forward(600.0) == pytest.approx(0.05)
    assert clock.forward(2100.0) - clock.forward(2000.0) >= 0.12 * 0.9


def test_every_piece_of_a_clock_has_a_tick() -> None:
    ticks = Clock(3698.0, [(532.0, 3681.0)]).ticks(8)
    assert any(tick > 3681.0 for tick in ticks)
    assert not any(532.0 < tick < 3681.0 for tick in ticks)
    assert 4 <= len(ticks) <= 9


@pytest.mark.parametrize(
    ("start", "end", "most", "expected"),
    [
        (0.0, 850.0, 5, [0.0, 200.0, 400.0, 600.0, 800.0]),
        (3681.0, 3698.03, 1, [3690.0]),
        (0.0, 10.0, 3, [0.0, 5.0, 10.0]),
        (161.0, 162.0, 1, [161.0, 162.0]),
    ],
)
def test_round_times(start: float, end: float, most: int, expected: list[float]) -> None:
    assert round_times(start, end, most) == pytest.approx(expected)
