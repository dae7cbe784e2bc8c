"""Figures of comparisons, losses, maps and simpler programmes."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from matplotlib.axes import Axes
from matplotlib.patches import Rectangle

import ascentopt as ao
from ascentopt.errors import InputError
from ascentopt.report import comparison_figure, losses_figure, penalty_map_figure, simplify_figure
from ascentopt.report.figures.penalty_map_figure import levels
from ascentopt.report.page.palette import SOFT
from ascentopt.steering.pitch_table import Against
from ascentopt.units import deg, km
from tests.report.flights import by_hand, optimum
from tests.report.looking import (
    assert_sound,
    axes_labelled,
    axis_labels,
    level_lines,
    points,
    written,
)
from tests.report.studies import (
    budget,
    comparison,
    cost_map,
    hand_flight,
    nobody_arrives,
    outcome,
    programme,
)


def bars(axes: Axes) -> list[tuple[float, float]]:
    """Left ends and lengths of horizontal bars."""
    found = [p for c in axes.containers for p in c if isinstance(p, Rectangle)]
    return [(p.get_x(), p.get_width()) for p in found]


def texts(figure: object) -> str:
    return "\n".join(text for text, _ in written(figure))  # type: ignore[arg-type]


def table_row(figure: object) -> list[str]:
    """The numbers of the table beside the bars."""
    table = figure.axes[1]  # type: ignore[attr-defined]
    return [text.get_text() for text in table.texts if text.get_color() != SOFT]


def bar_panel(figure: object, label: str) -> Axes:
    (found,) = [axes for axes in figure.axes if label in axes.get_xlabel()]  # type: ignore[attr-defined]
    assert isinstance(found, Axes)
    return found


@pytest.mark.parametrize("make", [comparison, nobody_arrives])
def test_a_comparison_has_its_texts_apart(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(comparison_figure(make()), tmp_path)


def test_axes_of_a_comparison_have_units() -> None:
    labels = axis_labels(comparison_figure(comparison()))
    units = (", km", ", s", ", deg", ", kPa", ", kg")
    assert len(labels) == 7
    assert all(any(unit in label for unit in units) for label in labels)


def test_penalties_are_the_bars_and_their_words() -> None:
    figure = comparison_figure(comparison())
    drawn = bars(bar_panel(figure, "beyond the least"))
    assert drawn == [(0.0, 216.0), (0.0, 322.5), (0.0, 410.25), (0.0, 1408.0)]
    share = 100.0 * 216.0 / optimum().propellant_margin
    words = texts(figure)
    assert f"216.0 kg, {share:.1f} % of the margin" in words
    assert "beyond: dynamic pressure 52 kPa, limit 40 kPa" in words


def test_the_upper_axis_is_the_share_of_the_margin() -> None:
    figure = comparison_figure(comparison())
    figure.draw_without_rendering()
    axes = bar_panel(figure, "beyond the least")
    (share,) = [child for child in axes.child_axes if "share of the" in child.get_xlabel()]
    margin = optimum().propellant_margin
    assert share.get_xlim() == pytest.approx([100.0 * x / margin for x in axes.get_xlim()])


def test_who_does_not_arrive_is_said_with_the_reason() -> None:
    words = texts(comparison_figure(comparison()))
    assert "No orbit: the flight sinks again before its apoapsis reaches the orbit:" in words
    names = "constant pitch rate, coast and circularise, by habit; flight-path angle at an altitude"
    assert names in words
    assert words.count("No orbit:") == 1
    assert "No rule of thumb reaches the orbit." in texts(comparison_figure(nobody_arrives()))


def test_the_cheapest_of_each_rule_is_drawn_and_the_optimum_first() -> None:
    figure = comparison_figure(comparison())
    path = axes_labelled(figure, "altitude")
    legend = path.get_legend()
    assert legend is not None
    same = "\n    and, on the same curve, "
    others = (
        "constant pitch rate, coast and circularise, tuned",
        "flight-path angle at an altitude, coast and circularise, by habit",
    )
    assert [text.get_text() for text in legend.get_texts()] == [
        "least propellant",
        f"gravity turn from a kick, coast and circularise, tuned{same.join(['', *others])}",
    ]
    optimal, flown = (points(line) for line in (path.lines[1], path.lines[0]))
    assert optimal[-1, 1] < 145.0  # the long coast, up to 300 km, is left out
    assert flown[-1, 0] == pytest.approx(hand_flight().trajectory.downrange[-1] / km)


def test_the_limit_of_the_comparison_is_drawn() -> None:
    figure = comparison_figure(comparison())
    assert level_lines(axes_labelled(figure, "dynamic pressure")) == [pytest.approx(40.0)]


def told_apart() -> ao.Comparison:
    """The same comparison, its flights drawn out in time so that no two coincide."""
    whole, found = comparison(), []
    for share, one in zip((1.0, 1.1, 1.2, 1.3), whole.outcomes[:4], strict=True):
        flight = one.flight
        assert flight is not None
        arcs = tuple(replace(a, times=share * a.times) for a in flight.trajectory.arcs)
        slower = replace(flight, trajectory=replace(flight.trajectory, arcs=arcs))
        found.append(replace(one, rule=f"{one.rule} {share}", flight=slower))
    return replace(whole, outcomes=tuple(found))


def test_curves_differ_in_more_than_colour() -> None:
    lines = axes_labelled(comparison_figure(told_apart()), "altitude").lines[:4]
    patterns = {str(line._unscaled_dash_pattern) for line in lines}  # type: ignore[attr-defined]
    assert len(patterns) == 4


@pytest.mark.parametrize("make", [comparison, optimum, by_hand, nobody_arrives])
def test_losses_have_their_texts_apart(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(losses_figure(make()), tmp_path)


def test_losses_are_stacked_and_summed() -> None:
    ascent = replace(optimum(), budget=budget())
    figure = losses_figure(ascent)
    stack = bars(bar_panel(figure, "losses, m/s"))
    assert stack == [(0.0, 1400.0), (1400.0, 100.0), (1500.0, 80.0), (1580.0, 60.0)]
    assert table_row(figure) == ["1400.0", "100.0", "80.0", "60.0", "1640.0", "476.0"]


def test_a_gain_is_stacked_the_other_way() -> None:
    figure = losses_figure(replace(optimum(), budget=budget(drag=-50.0)))
    stack = bars(bar_panel(figure, "losses, m/s"))
    assert stack == [(0.0, 1400.0), (0.0, -50.0), (1400.0, 80.0), (1480.0, 60.0)]
    assert table_row(figure)[1] == "\N{MINUS SIGN}50.0"
    assert table_row(figure)[4] == "1490.0"


def test_a_spin_that_hinders_keeps_its_sign_on_the_page(tmp_path: Path) -> None:
    ascent = replace(optimum(), budget=replace(budget(back_pressure=-0.02), rotation=-463.2))
    figure = losses_figure(ascent)
    assert table_row(figure)[3] == "0.0"
    assert table_row(figure)[5] == "\N{MINUS SIGN}463.2"
    assert_sound(figure, tmp_path)


def test_losses_of_every_flight_that_arrives() -> None:
    axes = bar_panel(losses_figure(comparison()), "losses, m/s")
    assert len(bars(axes)) == 4 * 5
    assert len(table_row(losses_figure(comparison()))) == 6 * 5
    gravity = hand_flight().budget.gravity
    assert bars(axes)[1] == pytest.approx((0.0, gravity))


@pytest.mark.parametrize(
    "make",
    [cost_map, lambda: cost_map(strict=True), lambda: cost_map(lost=False)],
    ids=["holes", "strict", "whole"],
)
def test_a_map_has_its_texts_apart(make: object, tmp_path: Path) -> None:
    assert callable(make)
    assert_sound(penalty_map_figure(make()), tmp_path)


def test_a_map_names_its_best_point_in_degrees_and_kilometres() -> None:
    figure = penalty_map_figure(cost_map())
    axes = figure.axes[0]
    assert (axes.get_xlabel(), axes.get_ylabel()) == ("kick angle, deg", "kick altitude, km")
    assert "best: 3 deg, 10 km, 247.0 kg" in texts(figure)
    assert points(axes.lines[0]) == pytest.approx(np.array([[3.0, 10.0]]))


def test_a_map_says_what_a_step_costs() -> None:
    words = texts(penalty_map_figure(cost_map()))
    assert "One degree off the best kick angle costs 40.0 kg (below) or 40.0 kg (above)." in words
    assert "One kilometre off the best kick altitude costs 5.0 kg (below) or 5.0 kg" in words


def test_levels_are_told_from_the_best() -> None:
    words = texts(penalty_map_figure(cost_map()))
    assert "+50 kg" in words
    assert "propellant beyond the best of this map, kg" in words
    assert "247.0 kg over the optimum" in words


def test_a_map_says_what_was_flown() -> None:
    subject = "Turnstone to circular orbit at 300 km of Earth"
    assert f"{subject}: gravity turn" in texts(
        penalty_map_figure(replace(cost_map(), subject=subject))
    )


def test_a_best_point_at_the_edge_is_flagged() -> None:
    whole = cost_map()
    assert "edge" not in texts(penalty_map_figure(whole))
    cut = replace(
        whole,
        across=replace(whole.across, values=whole.across.values[4:]),
        propellant_used=whole.propellant_used[:, 4:],
        excess=whole.excess[:, 4:],
    )
    words = texts(penalty_map_figure(cut)).replace("\n", " ")
    assert "best: 3 deg, 10 km, 247.0 kg over the optimum (at the map's edge)" in words
    assert "at the map's edge (kick angle): the least may be beyond it" in words


def test_a_step_that_the_grid_does_not_hold_is_not_priced() -> None:
    whole = cost_map()
    narrow = replace(
        whole,
        across=replace(whole.across, values=np.linspace(2.9, 3.1, 11) * deg),
        propellant_used=np.broadcast_to(whole.propellant_used[:, 4:5], (13, 11)),
    )
    words = texts(penalty_map_figure(narrow))
    assert "0.1 deg off the best kick angle" in words
    assert "(below)" not in words.split("off the best kick angle")[1].split(".\n")[0]


def test_the_best_within_the_limits_is_another_point() -> None:
    figure = penalty_map_figure(cost_map(strict=True))
    words = texts(figure)
    assert "best: 3 deg, 10 km, 247.0 kg" in words
    assert "best within the limits: 4 deg, 10 km, 287.0 kg" in words
    assert "breaks a limit" in words
    assert "One degree off the best kick angle costs 120.0 kg (above)." in words
    within = cost_map(lost=False)
    kept = replace(within, excess=np.full_like(within.excess, -0.5))
    assert "breaks a limit" not in texts(penalty_map_figure(kept))
    assert "no orbit" not in texts(penalty_map_figure(kept))


def test_the_edge_of_the_limit_runs_where_the_excess_is_zero() -> None:
    axes = penalty_map_figure(cost_map(strict=True)).axes[0]
    edge = axes.collections[-1].get_paths()[0].vertices
    assert np.asarray(edge)[:, 0] == pytest.approx(3.6)


def test_where_there_is_no_orbit_the_ground_shows() -> None:
    axes = penalty_map_figure(cost_map()).axes[0]
    assert axes.patch.get_hatch() == "xx"
    paths = [np.asarray(path.vertices) for path in axes.collections[0].get_paths()]
    reach = max(float(path[:, 0].max()) for path in paths if len(path))
    assert 5.0 < reach < 5.5  # between the last cell with an orbit and the next without
    assert axes.get_xlim() == pytest.approx((1.0, 6.0))


@pytest.mark.parametrize(
    ("least", "greatest", "expected"),
    [
        (0.0, 30.0, [0.0, 1.0, 2.0, 5.0, 10.0, 20.0, 50.0]),
        (247.0, 250.0, [247.0, 248.0, 249.0, 252.0]),
        (5.0, 5.0, [5.0, 6.0]),
        (10.0, 5010.0, [10.0, 20.0, 30.0, 60.0, 110.0, 210.0, 510.0, 1010.0, 2010.0, 5010.0]),
    ],
)
def test_levels(least: float, greatest: float, expected: list[float]) -> None:
    assert levels(least, greatest) == pytest.approx(expected)


def test_a_map_without_orbits_is_refused() -> None:
    empty = replace(cost_map(), propellant_used=np.full((13, 11), np.nan))
    with pytest.raises(InputError, match="0 orbits among them; it must have two by two"):
        penalty_map_figure(empty)


@pytest.mark.parametrize("both", [False, True], ids=["time", "both"])
def test_simpler_programmes_have_their_texts_apart(both: bool, tmp_path: Path) -> None:  # noqa: FBT001
    found = [programme(3, 612.0), programme(5, 44.3), programme(8, 1.9)]
    found += (
        [programme(4, 180.3, Against.ALTITUDE), programme(6, 12.2, Against.ALTITUDE)]
        if both
        else []
    )
    figure = simplify_figure(found, optimum())
    assert len(figure.axes) == (3 if both else 2)
    assert_sound(figure, tmp_path)


def test_penalties_stand_over_the_number_of_knots() -> None:
    figure = simplify_figure([programme(5, 44.3), programme(3, 612.0)], optimum())
    costs = axes_labelled(figure, "beyond the least, kg")
    assert points(costs.lines[0]) == pytest.approx(np.array([[3.0, 612.0], [5.0, 44.3]]))
    assert {"612.0", "44.3"} <= set(texts(figure).split("\n"))


def test_knots_lie_on_the_pitch_that_was_flown() -> None:
    one = programme(5, 44.3, Against.ALTITUDE)
    figure = simplify_figure([one], optimum())
    axes = axes_labelled(figure, "pitch of the thrust")
    assert axes.get_xlabel() == "altitude, km"
    optimal, flown, knots = (points(line) for line in axes.lines)
    assert knots == pytest.approx(np.array(one.knots) / np.array([km, deg]))
    known = np.isfinite(flown[:, 1])
    for x, y in knots:
        near = np.argmin(np.hypot(flown[known, 0] - x, flown[known, 1] - y))
        assert flown[known][near] == pytest.approx((x, y), abs=3.0)
    assert 130.0 < optimal[:, 0].max() < 160.0  # the first cut-off; the coast goes up to 300 km


def test_no_programmes_at_all_are_refused() -> None:
    with pytest.raises(InputError, match="there is nothing to draw"):
        simplify_figure([], optimum())


def test_a_rule_that_beats_the_optimum_is_shown_as_it_is() -> None:
    odd = replace(comparison(), outcomes=(outcome("constant pitch rate", -3.0),))
    figure = comparison_figure(odd)
    assert bars(bar_panel(figure, "beyond the least")) == [(0.0, -3.0)]
    assert "-3.0 kg" in texts(figure)
