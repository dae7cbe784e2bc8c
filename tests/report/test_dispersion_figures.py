"""Figures of dispersed flights: what they tell is what the flights tell."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure
from matplotlib.patches import Rectangle

from ascentopt.errors import InputError
from ascentopt.report import (
    dispersed_loads_figure,
    importance_figure,
    insertion_figure,
    propellant_left_figure,
    robust_programme_figure,
)
from ascentopt.units import deg, kPa
from tests.report.dispersions import flights, programme
from tests.report.looking import assert_sound, axis_labels, points, upright_lines, written
from tests.studies.dispersions.linear import NOMINAL

ALL = (propellant_left_figure, importance_figure, dispersed_loads_figure, insertion_figure)


def texts(figure: Figure) -> str:
    return "\n".join(text for text, _ in written(figure))


@pytest.mark.parametrize("draw", ALL, ids=lambda draw: draw.__name__)
@pytest.mark.parametrize("given", [{}, {"lost": 2}, {"weight": 60.0}, {"count": 40}], ids=str)
def test_texts_are_apart(draw: object, given: dict[str, int], tmp_path: Path) -> None:
    assert_sound(draw(flights(**given)), tmp_path)  # type: ignore[operator]


@pytest.mark.parametrize("draw", ALL, ids=lambda draw: draw.__name__)
def test_axes_have_units(draw: object) -> None:
    labels = axis_labels(draw(flights()))  # type: ignore[operator]
    numbers = [label for label in labels if label != "flights"]
    units = ("kg", "km", " m", "m/s", "kPa", "g", ", -")
    assert numbers
    assert all(any(unit in label for unit in units) for label in numbers)


def test_every_flight_that_ended_above_ground_is_in_a_bar() -> None:
    (axes,) = propellant_left_figure(flights(lost=2)).axes
    heights = [p.get_height() for c in axes.containers for p in c if isinstance(p, Rectangle)]
    assert sum(heights) == 898
    assert "2 flights fell" in texts(propellant_left_figure(flights(lost=2)))


def test_the_reserve_ends_where_it_says() -> None:
    found = flights()
    (axes,) = propellant_left_figure(found).axes
    assert NOMINAL - found.reserve().mass in upright_lines(axes)
    assert NOMINAL in upright_lines(axes)
    assert f"{found.reserve().mass:.1f} kg (by partials" in texts(axes.figure)  # type: ignore[arg-type]


def test_the_partials_curve_holds_as_many_flights() -> None:
    (axes,) = propellant_left_figure(flights()).axes
    (curve,) = [line for line in axes.lines if len(points(line)) == 300]
    at, height = points(curve).T
    area = np.sum(0.5 * (height[1:] + height[:-1]) * np.diff(at))
    (width,) = {round(p.get_width(), 9) for p in axes.containers[0]}
    assert area / width == pytest.approx(900.0, rel=1e-3)


def test_too_few_flights_say_how_many_it_takes() -> None:
    told = texts(propellant_left_figure(flights(count=40)))
    assert "takes 852 at least" in told.replace("\n", " ")


def test_bars_are_the_ranks_and_the_kilograms() -> None:
    found = flights()
    left, right = importance_figure(found).axes
    rows = found.importance().rows
    ranks = [p.get_width() for p in left.containers[0]]
    assert ranks == [row.rank for row in rows]
    assert [p.get_width() for p in right.containers[0]] == [row.regression for row in rows]
    without = sum(np.isnan(row.first_order) for row in rows)
    assert texts(right.figure).count("no partial") == without == 3  # type: ignore[arg-type]


def test_a_limit_is_drawn_where_it_is() -> None:
    panels = dispersed_loads_figure(flights()).axes
    (own,) = [axes for axes in panels if "q alpha" in axes.get_xlabel()]
    limit = flights().ascent.mission.limits.q_alpha
    assert limit is not None
    assert limit / (kPa * deg) in upright_lines(own)
    kept = flights().loads()["q_alpha"].within
    assert f"kept by {kept}" in texts(own.figure)  # type: ignore[arg-type]


def test_ends_of_flights_that_are_short_have_a_panel() -> None:
    assert len(insertion_figure(flights(weight=60.0)).axes) == 3
    assert len(insertion_figure(flights(weight=1.0)).axes) == 2


def test_where_all_fell_there_is_nothing_to_draw() -> None:
    for draw in (propellant_left_figure, insertion_figure):
        with pytest.raises(InputError, match="all flights fell"):
            draw(flights(count=40, lost=40))


@pytest.mark.parametrize("judged", [60, 0])
def test_a_programme_for_days_stands_beside_the_optimums(judged: int, tmp_path: Path) -> None:
    one = programme(judged)
    figure = robust_programme_figure(one)
    assert_sound(figure, tmp_path)
    by_label = {one.get_ylabel(): one for one in figure.axes}
    pitch, shift = by_label["pitch, deg"], by_label["shift, deg"]
    (left,) = {*figure.axes} - {pitch, shift}
    planned, own = (np.asarray(line.get_ydata(), dtype=float) for line in pitch.lines)
    assert (own - planned)[-1] * deg == pytest.approx(one.shifts[-1])
    shifts = np.asarray(shift.lines[0].get_ydata(), dtype=float)
    assert shifts.max() * deg == pytest.approx(one.shifts[-1])
    assert len(left.lines) == (2 if judged else 0)
    told = "stopped before it was judged" if judged == 0 else f"on {judged} fresh flights"
    assert told in " ".join(texts(figure).split())
