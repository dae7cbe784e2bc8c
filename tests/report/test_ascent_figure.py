"""One page that shows an ascent."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.report import Flown, ascent_figure
from ascentopt.units import STANDARD_GRAVITY, deg, km, kPa
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
from tests.rules.overshot import MISSION, VEHICLE


@pytest.mark.slow
@pytest.mark.parametrize("make", [optimum, moon_ascent])
def test_texts_are_apart_and_on_the_page(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(ascent_figure(make()), tmp_path)


def test_every_axis_has_a_unit() -> None:
    labels = axis_labels(ascent_figure(optimum()))
    assert len(labels) == 16
    assert all(", " in label or label == "km from the centre" for label in labels)


def test_limits_are_drawn_at_their_values() -> None:
    figure = ascent_figure(optimum())
    assert level_lines(axes_labelled(figure, "dynamic pressure")) == [pytest.approx(40.0)]
    assert level_lines(axes_labelled(figure, "angle of attack")) == [pytest.approx(150.0)]


@pytest.mark.slow
def test_every_limit_has_its_panel() -> None:
    flown = Flown.of(optimum())
    limits = ao.FlightLimits(
        dynamic_pressure=40 * kPa,
        q_alpha=150 * kPa * deg,
        axial_acceleration=6.5 * STANDARD_GRAVITY,
        angle_of_attack=12 * deg,
    )
    figure = ascent_figure(replace(flown, mission=replace(flown.mission, limits=limits)))
    assert level_lines(axes_labelled(figure, "axial acceleration")) == [pytest.approx(6.5)]
    assert level_lines(axes_labelled(figure, "angle of attack, q above")) == [pytest.approx(12.0)]


def test_the_target_is_there_though_the_panel_ends_before_it() -> None:
    figure = ascent_figure(optimum())
    (around,) = [axes for axes in figure.axes if axes.get_title()]
    assert around.get_title() == "Earth to scale, target orbit, 300 km"
    ring = points(around.lines[0])
    assert np.hypot(*ring.T) == pytest.approx(6678.137)
    flight = np.concatenate([points(line) for line in around.lines[1:]])
    assert np.hypot(*flight.T).max() == pytest.approx(6678.1, abs=1.0)


def test_events_are_marked_in_space_and_numbered_in_time() -> None:
    ascent = optimum()
    figure = ascent_figure(ascent)
    path = figure.axes[0]
    dots = [tuple(points(line)[0]) for line in path.lines if len(points(line)) == 1]
    event = ascent.events["fairing drop"]
    assert (event.downrange / km, event.altitude / km) in dots
    shown = [e.time for e in ascent.events if 0.0 < e.time < 600.0]
    panel = axes_labelled(figure, "axial acceleration")
    assert upright_lines(panel) == pytest.approx(shown)
    words = "\n".join(text.get_text() for text in path.texts)
    number = 1 + shown.index(event.time)
    assert f"{number} fairing drop, {event.time:.1f} s" in words
    assert str(number) in [text.get_text() for text in panel.texts]


def test_what_is_left_out_is_said() -> None:
    texts = " ".join(text.replace("\n", " ") for text, _ in written(ascent_figure(optimum())))
    relit = optimum().events.rows[-2].time
    left_out = f"(not shown) till {relit:.0f} s; insertion is at {optimum().flight_time:.0f} s."
    assert left_out in texts


def test_without_air_no_load_by_it_is_shown() -> None:
    labels = axis_labels(ascent_figure(moon_ascent()))
    assert not any("dynamic pressure" in label or "attack" in label for label in labels)
    assert "throttle of the core" in labels


def test_the_title_counts_what_stays_in_stages_that_are_not_lit() -> None:
    """As the ascent's own print does."""
    ascent = ao.optimize(VEHICLE, MISSION)
    assert ascent.plan.unlit
    title = " ".join(" ".join(text for text, _ in written(ascent_figure(ascent))).split())
    assert f"{ascent.propellant_margin:.0f} kg of propellant left" in title
    unlit = ascent.vehicle.stages[-1].propellant_mass
    assert f"{unlit:.0f} kg stay in stages that are not lit" in title
