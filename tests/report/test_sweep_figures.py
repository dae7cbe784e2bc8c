"""Figures of sweeps: lines, carpet and contours, with what does not fly."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.figure import Figure

import ascentopt as ao
from ascentopt.report import carpet_figure, sweep_contour_figure, sweep_lines_figure
from tests.report.looking import assert_sound, axis_labels, points, written
from tests.report.studies import sweep

FIGURES: list[Callable[..., Figure]] = [sweep_lines_figure, carpet_figure, sweep_contour_figure]


def texts(figure: Figure) -> str:
    return "\n".join(text for text, _ in written(figure))


@pytest.mark.parametrize("refused", [True, False])
@pytest.mark.parametrize("figure", FIGURES)
def test_texts_are_apart(figure: Callable[..., Figure], refused: bool, tmp_path: Path) -> None:  # noqa: FBT001
    assert_sound(figure(sweep(refused=refused)), tmp_path)


def test_wholes_are_named_along_their_side(tmp_path: Path) -> None:
    for figure in (
        sweep_lines_figure(sweep(orbits=True)),
        sweep_lines_figure(sweep(orbits=True), across="orbit"),
        carpet_figure(sweep(orbits=True)),
    ):
        assert_sound(figure, tmp_path)
        assert "circle 2" in texts(figure)


def test_a_line_for_each_altitude_runs_through_what_flies() -> None:
    axes = sweep_lines_figure(sweep()).axes[0]
    first = points(axes.lines[0])
    assert first[:, 0] == pytest.approx(np.linspace(800.0, 1800.0, 6))
    assert first[:, 1] == pytest.approx([900.0, 800.0, 700.0, 600.0, 500.0, 400.0])
    labels = [line.get_label() for line in axes.lines]
    assert "orbit: altitude 300 km" in labels
    assert "burn, coast, burn" in labels


def test_a_cross_stands_where_nothing_flies() -> None:
    crosses = [one for one in sweep_lines_figure(sweep()).axes[0].lines if one.get_marker() == "x"]
    table = sweep().to_table()
    refused = sum(one == "refused" for one in table["outcome"])
    assert sum(len(points(one)) for one in crosses) == refused > 0
    assert all(len(points(one)) == 0 for one in
               [x for x in sweep_lines_figure(sweep(refused=False)).axes[0].lines
                if x.get_marker() == "x"])  # fmt: skip


def test_crosses_stand_below_all_points() -> None:
    """In parts of the panel's height, whichever line is drawn."""
    axes = sweep_lines_figure(sweep()).axes[0]
    crosses = [points(one) for one in axes.lines if one.get_marker() == "x"]
    highest = max(float(one[:, 1].max()) for one in crosses if len(one))
    lines = [points(one) for one in axes.lines if one.get_marker() != "x"]
    data = [one[:, 1] for one in lines if len(one) and np.isfinite(one[:, 1]).any()]
    low, high = axes.get_ylim()
    lowest = (min(float(np.nanmin(one)) for one in data) - low) / (high - low)
    assert lowest > highest > 0.0


def test_a_shortfall_is_drawn_where_it_is_known() -> None:
    figure = sweep_lines_figure(sweep(), "shortfall")
    assert "shortfall, m/s" in axis_labels(figure)


def test_more_lines_than_strokes_are_told() -> None:
    few = sweep_lines_figure(sweep(), across="orbit.altitude", family="payload_mass")
    assert "Drawn are" not in texts(few)
    whole = sweep(refused=False)
    many = replace(
        whole,
        names=tuple(reversed(whole.names)),
        values=tuple((float(k % 2), float(k // 2)) for k in range(24)),
        shape=(2, 12),
    )
    assert "Drawn are 7 of 12 values" in texts(sweep_lines_figure(many))


def test_a_carpet_has_both_families() -> None:
    axes = carpet_figure(sweep(refused=False)).axes[0]
    lines = [line for line in axes.lines if len(points(line)) > 1]
    assert sorted(len(points(line)) for line in lines) == [4] * 6 + [6] * 4
    words = texts(carpet_figure(sweep(refused=False)))
    assert all(text in words for text in ("1400 kg", "300 km"))


def test_what_cannot_fly_is_crossed_out_and_labelled() -> None:
    figure = sweep_contour_figure(sweep())
    axes = figure.axes[0]
    assert axes.patch.get_hatch() == "xx"
    words = texts(figure)
    assert "cannot fly" in words
    assert "refused" in words
    assert "cannot fly" not in texts(sweep_contour_figure(sweep(refused=False)))
    assert axis_labels(figure)[:2] == ["payload mass, kg", "orbit: altitude, km"]


def test_contours_fill_only_what_flies() -> None:
    axes = sweep_contour_figure(sweep()).axes[0]
    filled = axes.collections[0]
    margin = sweep().column("propellant_margin").reshape(6, 4)
    x, y = np.linspace(800.0, 1800.0, 6), np.linspace(200.0, 500.0, 4)
    inside = [
        any(path.contains_point((x[k] - 20.0, y[m] - 5.0)) for path in filled.get_paths())
        for k, m in ((1, 1), (5, 3))
    ]
    assert np.isfinite(margin[1, 1])
    assert np.isnan(margin[5, 3])
    assert inside == [True, False]


@pytest.mark.parametrize("figure", FIGURES)
@pytest.mark.parametrize(
    ("given", "says"),
    [
        ({"quantity": "propelant_margin"}, "Did you mean 'propellant_margin'"),
        ({"quantity": "plan"}, "it must be one of"),
        ({"held": {"payload": 3.0}}, "Did you mean 'payload_mass'"),
    ],
)
def test_what_is_not_there_is_named(
    figure: Callable[..., Figure], given: dict[str, object], says: str
) -> None:
    with pytest.raises(ao.InputError, match=says):
        figure(sweep(), **given)


def test_what_is_neither_drawn_nor_held_is_named() -> None:
    whole = sweep(refused=False)
    deep = replace(
        whole,
        names=(*whole.names, replace(whole.names[0], name="fairing.mass")),
        values=tuple((*one, float(k % 2)) for k, one in enumerate(whole.values)),
        shape=(6, 2, 2),
    )
    with pytest.raises(ao.InputError, match=r"fairing\.mass is neither drawn nor held"):
        sweep_lines_figure(deep)
    with pytest.raises(ao.InputError, match=r"held has 7\.0 for fairing\.mass"):
        sweep_lines_figure(deep, held={"fairing.mass": 7.0})


def test_a_list_of_points_has_no_sides() -> None:
    with pytest.raises(ao.InputError, match="over a list of 24 points"):
        carpet_figure(replace(sweep(), shape=()))
