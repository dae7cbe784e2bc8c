"""One page that shows an ascent."""

from __future__ import annotations

from pathlib import Path

import pytest

from ascentopt.report import ascent_figure
from ascentopt.units import km
from tests.report.flights import moon_ascent, optimum
from tests.report.looking import (
    assert_sound,
    axes_labelled,
    axis_labels,
    level_lines,
    points,
    upright_lines,
    written,
)


@pytest.mark.slow
@pytest.mark.parametrize("make", [optimum, moon_ascent])
def test_texts_are_apart_and_on_the_page(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(ascent_figure(make()), tmp_path)


def test_every_axis_has_a_unit() -> None:
    labels = axis_labels(ascent_figure(optimum()))
    assert len(labels) == 13
    assert all(", " in label for label in labels)


def test_limits_are_drawn_at_their_values() -> None:
    figure = ascent_figure(optimum())
    assert level_lines(axes_labelled(figure, "dynamic pressure")) == [pytest.approx(40.0)]
    assert level_lines(axes_labelled(figure, "q-alpha")) == [pytest.approx(150.0)]


def test_events_are_marked_in_space_and_time() -> None:
    ascent = optimum()
    figure = ascent_figure(ascent)
    path = figure.axes[0]
    dots = [tuple(points(line)[0]) for line in path.lines[1:]]
    event = ascent.events["fairing drop"]
    assert (event.downrange / km, event.altitude / km) in dots
    shown = [e.time for e in ascent.events if 0.0 < e.time < 600.0]
    assert upright_lines(axes_labelled(figure, "mass")) == pytest.approx(shown)


def test_what_is_left_out_is_said() -> None:
    texts = [text for text, _ in written(ascent_figure(optimum()))]
    left_out = f"The coast goes on to the insertion at {optimum().flight_time:.0f} s (not shown)"
    assert any(left_out in text for text in texts)
