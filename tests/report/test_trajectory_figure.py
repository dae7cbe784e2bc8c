"""The way in the vertical plane."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Circle

import ascentopt as ao
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.results.flight import ArcEnd, Flight
from ascentopt.report import Flown, history_figure, losses_figure, trajectory_figure
from ascentopt.report.page.palette import LIMIT
from ascentopt.report.target_orbit import TargetOrbit, lower_ground
from ascentopt.units import km
from tests.report.flights import by_hand, moon_ascent, optimum
from tests.report.looking import assert_sound, axis_labels, level_lines, points


def marks(axes: Axes) -> list[tuple[float, float]]:
    """Places of the dots of a panel."""
    points = [line.get_xydata() for line in axes.lines if line.get_marker() == "o"]
    return [(float(p[0, 0]), float(p[0, 1])) for p in map(np.asarray, points)]


@pytest.mark.parametrize("make", [optimum, by_hand, moon_ascent])
def test_texts_are_apart_and_on_the_page(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(trajectory_figure(make()), tmp_path)


def test_axes_have_units() -> None:
    labels = axis_labels(trajectory_figure(optimum()))
    assert len(labels) == 6
    assert all("km" in label or "deg" in label for label in labels)


def test_the_marks_stand_where_the_events_are() -> None:
    flown = by_hand()
    main = trajectory_figure(flown).axes[0]
    places = marks(main)
    for name in ("max dynamic pressure", "first separation", "fairing drop", "second cut-off"):
        event = flown.events[name]
        assert (event.downrange / km, event.altitude / km) in places
    texts = "\n".join(text.get_text() for text in main.texts)
    for event in flown.events.rows[1:]:
        assert f"{event.name}, {event.time:.1f} s" in texts


def test_ceiling_and_target_are_drawn_at_their_heights() -> None:
    """The target's altitude counts from the equator, below which the ground lies by Pelican's."""
    flown = by_hand()
    main = trajectory_figure(flown).axes[0]
    assert level_lines(main) == [100.0]
    (target,) = [points(line) for line in main.lines if line.get_color() == LIMIT]
    ground = np.linalg.norm(flown.trajectory.states[:, :3], axis=1) - flown.trajectory.altitude
    expected = (flown.mission.body.radius + 300 * km - ground) / km
    assert target[:, 1] == pytest.approx(expected[: len(target)], abs=1e-6)
    assert 300.2 < target[0, 1] < 301.5


@pytest.mark.slow
def test_long_titles_are_broken(tmp_path: Path) -> None:
    flown = by_hand("A long name of a launcher " * 6)
    for draw in (trajectory_figure, history_figure, losses_figure):
        assert_sound(draw(flown), tmp_path)


def test_an_ellipse_is_one_curve_through_where_it_is_entered() -> None:
    """In the flight's plane, through its end: of the target, not two circles."""
    flown = by_hand()
    reached = flown.orbit_at(flown.trajectory.final_state)
    low, high = (r - flown.mission.body.radius for r in (reached.periapsis_radius,
                                                         reached.apoapsis_radius))  # fmt: skip
    ellipse = ao.EllipticalOrbit(periapsis_altitude=low, apoapsis_altitude=high)
    other = replace(flown, mission=replace(flown.mission, orbit=ellipse))
    main = trajectory_figure(other).axes[0]
    name = f"target orbit, {round(low / km, 1):g} x {round(high / km, 1):g} km"
    assert name in [text.get_text() for text in main.texts]
    (target,) = [points(line) for line in main.lines if line.get_color() == LIMIT]
    assert target[-1, 1] == pytest.approx(flown.trajectory.altitude[-1] / km, abs=1e-3)
    orbit = TargetOrbit.of(other)
    turn = np.linspace(0.0, 2.0 * np.pi, 721)
    body = flown.mission.body.radius
    assert orbit.radius(turn).min() == pytest.approx(body + low, abs=0.1)
    assert orbit.radius(turn).max() == pytest.approx(body + high, abs=0.1)


@pytest.mark.parametrize(
    ("orbit", "low", "high"),
    [
        (ao.EllipticalOrbit(periapsis_altitude=200 * km), 200.0, None),
        (ao.EllipticalOrbit(apoapsis_altitude=900 * km), None, 900.0),
        (ao.EllipticalOrbit(semi_major_axis=6900 * km, eccentricity=0.02), 383.9, 659.9),
    ],
)
def test_what_a_target_leaves_free_is_as_it_was_reached(
    orbit: ao.EllipticalOrbit, low: float | None, high: float | None
) -> None:
    flown = by_hand()
    target = TargetOrbit.of(replace(flown, mission=replace(flown.mission, orbit=orbit)))
    reached = flown.orbit_at(flown.trajectory.final_state)
    turn = np.linspace(0.0, 2.0 * np.pi, 7201)
    found = (target.radius(turn) - flown.mission.body.radius) / km
    own = [(r - flown.mission.body.radius) / km
           for r in (reached.periapsis_radius, reached.apoapsis_radius)]  # fmt: skip
    assert found.min() == pytest.approx(own[0] if low is None else low, abs=0.1)
    assert found.max() == pytest.approx(own[1] if high is None else high, abs=0.1)


def test_the_ground_below_the_end_is_explained() -> None:
    note = lower_ground(by_hand())
    state = by_hand().trajectory.final_state
    lower = 6378.137 - (np.linalg.norm(state[:3]) - by_hand().trajectory.altitude[-1]) / km
    assert f"the ground lies {lower:.1f} km lower" in note
    assert lower_ground(Flown.of(moon_ascent())) == ""


def test_a_short_coast_is_drawn_to_the_end_in_one_panel() -> None:
    figure = trajectory_figure(by_hand())
    (axes,) = figure.axes
    reach = max(float(np.max(np.asarray(line.get_xdata()))) for line in axes.lines)
    assert reach == pytest.approx(by_hand().trajectory.downrange.max() / km)


def test_a_long_coast_goes_to_panels_of_its_own() -> None:
    ascent = optimum()
    main, around, unrolled = trajectory_figure(ascent).axes
    cut_off = ascent.events["second cut-off"]
    drawn = np.concatenate([np.asarray(line.get_xdata(), float) for line in main.lines])
    assert cut_off.downrange / km < drawn.max() < cut_off.downrange / km + 500.0
    last = np.linalg.norm(ascent.trajectory.final_state[:3]) / km
    ends = [np.asarray(line.get_xydata())[-1] for line in around.lines]
    assert max(np.hypot(*end) for end in ends) == pytest.approx(last)
    body = [p for p in around.patches if isinstance(p, Circle)]
    assert {p.radius for p in body} == {6378.137}
    rings = [points(line) for line in around.lines if line.get_color() == LIMIT]
    assert np.hypot(*rings[0].T) == pytest.approx(6678.137)
    (target,) = [points(line) for line in unrolled.lines if line.get_color() == LIMIT]
    assert target[:, 1].min() == pytest.approx(300.0, abs=1.0)


def test_the_angle_flown_is_that_between_the_ends() -> None:
    """A direct check on the sum over samples: both ends lie in nearly one plane."""
    ascent = moon_ascent()
    unrolled = trajectory_figure(ascent).axes[2]
    swept = max(float(np.max(np.asarray(line.get_xdata()))) for line in unrolled.lines[-3:])
    first, last = ascent.trajectory.states[0, :3], ascent.trajectory.final_state[:3]
    cosine = first @ last / np.linalg.norm(first) / np.linalg.norm(last)
    folded = np.degrees(np.arccos(cosine))
    assert min(abs(swept - folded), abs(360.0 - swept - folded)) < 0.5


def test_the_stated_stretch_is_the_drawn_one() -> None:
    figure = trajectory_figure(by_hand())
    figure.draw_without_rendering()
    axes = figure.axes[0]
    (low, left), (high, right) = axes.transData.transform([(0.0, 0.0), (100.0, 100.0)])
    stated = float(axes.get_ylabel().split("drawn ")[1].split(" times")[0])
    assert (right - left) / (high - low) == pytest.approx(stated, rel=1e-6)


def test_a_flight_of_another_vehicle_is_refused() -> None:
    flown = by_hand()
    with pytest.raises(ValueError, match=r"must be .*'other burn 2'"):
        Flown.by_hand(
            by_hand("Turnstone", "other").vehicle,
            flown.mission,
            by_hand("Turnstone", "other").law,
            Flight(
                trajectory=flown.trajectory, events=flown.events, budget=flown.budget,
                ends=(ArcEnd(arc="lower burn", ending=AfterDuration(9.0), time=9.0),),
            ),
        )
