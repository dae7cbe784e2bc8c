"""Every figure of every published scenario: texts apart, on the page and clear of lines."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.report import (
    Flown,
    ascent_figure,
    comparison_figure,
    dispersed_loads_figure,
    flight_card,
    history_figure,
    importance_figure,
    insertion_figure,
    losses_figure,
    penalty_map_figure,
    propellant_left_figure,
    simplify_figure,
    trajectory_figure,
)
from ascentopt.units import deg, km
from tests.report.looking import assert_sound
from tests.report.scenarios import HARD, PUBLISHED, QUICK, comparison_of, optimum_of

FLIGHTS = (ascent_figure, trajectory_figure, history_figure, losses_figure, flight_card)
DISPERSED = (
    propellant_left_figure, importance_figure, dispersed_loads_figure, insertion_figure,
)  # fmt: skip
SLOW = [name for name in (*PUBLISHED, *HARD) if name not in QUICK]


@pytest.mark.parametrize(
    "name", [*QUICK, *(pytest.param(name, marks=pytest.mark.slow) for name in SLOW)]
)
def test_figures_of_a_flight_are_sound(name: str, tmp_path: Path) -> None:
    for draw in FLIGHTS:
        assert_sound(draw(optimum_of(name)), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", PUBLISHED)
def test_figures_of_a_comparison_are_sound(name: str, tmp_path: Path) -> None:
    for draw in (comparison_figure, losses_figure):
        assert_sound(draw(comparison_of(name)), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", PUBLISHED)
def test_figures_and_cards_of_programmes_are_sound(name: str, tmp_path: Path) -> None:
    ascent = optimum_of(name)
    try:
        found = ao.simplify_curve(ascent, (3, 5))
    except ao.InputError as refusal:
        pytest.skip(str(refusal))
    assert_sound(simplify_figure(found, ascent), tmp_path)
    assert_sound(flight_card(Flown.simplified(ascent, found[-1])), tmp_path)


@pytest.mark.slow
@pytest.mark.parametrize("name", [*PUBLISHED, *HARD])
def test_figures_of_dispersed_flights_are_sound(name: str, tmp_path: Path) -> None:
    ascent = optimum_of(name)
    parts = [one.name for one in ascent.vehicle.stages]
    parts += [one.name for one in ascent.vehicle.boosters]
    thrusts = [ao.ThrustDispersion(part, ao.Normal(0.01)) for part in parts]
    scatter = [*thrusts, *(ao.IspDispersion(part, ao.Normal(0.003)) for part in parts)]
    found = ao.disperse(ascent, scatter, count=60, seed=8)
    for draw in DISPERSED:
        assert_sound(draw(found), tmp_path)


@pytest.mark.slow
def test_a_map_that_was_flown_is_sound(tmp_path: Path) -> None:
    ascent = optimum_of("marble-thick-air")
    angles = (np.linspace(10.0, 80.0, 12) * deg).tolist()
    heights = (np.linspace(2.0, 20.0, 10) * km).tolist()
    found = ao.cost_map(
        ascent, ao.AnyAltitudeRule(), ao.Circularise(), across=angles, upward=heights
    )
    assert_sound(penalty_map_figure(found), tmp_path)
    assert found.subject == "Knot to circular orbit at 90 km of Marble"
