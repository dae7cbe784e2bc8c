"""The figure of a sized vehicle: masses, and what a kilogram buys."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest
from matplotlib.patches import Rectangle

import ascentopt as ao
from ascentopt.optimal.perturbations import stronger
from ascentopt.report import sizing_figure
from tests.report.looking import assert_sound, axis_labels, written
from tests.report.sizings import sizing
from tests.report.test_study_figures import bar_panel, texts


@pytest.mark.parametrize(
    "found",
    [sizing(), sizing(held=True), sizing(priced=False)],
    ids=["all free", "one at its bound", "nothing that costs"],
)
def test_its_texts_are_apart(found: ao.Sizing, tmp_path: Path) -> None:
    assert_sound(sizing_figure(found), tmp_path)


def test_masses_are_the_bars_and_their_words() -> None:
    found = sizing()
    figure = sizing_figure(found)
    axes = bar_panel(figure, "mass")
    drawn = [p.get_width() for c in axes.containers for p in c if isinstance(p, Rectangle)]
    for vehicle in (found.given, found.vehicle):
        for mass in (vehicle.lift_off_mass, vehicle.payload_mass, vehicle.stages[0].dry_mass):
            assert mass / 1e3 in drawn
            assert f"{mass / 1e3:.3f}" in texts(figure)
    assert len(drawn) % 2 == 0


def test_what_is_bought_is_drawn_beside_what_is_common() -> None:
    figure = sizing_figure(sizing(held=True))
    axes = bar_panel(figure, "buys")
    drawn = [p.get_width() for c in axes.containers for p in c if isinstance(p, Rectangle)]
    assert drawn == pytest.approx([0.3 * 0.0412, 0.0412, 0.0412, 0.0412])
    assert "in common 0.0412" in texts(figure)
    assert "(at its least)" in texts(figure).replace("\n", " ")
    assert "changes the objective by +0.74" in texts(figure).replace("\n", " ")


def test_without_costs_there_is_no_second_panel() -> None:
    figure = sizing_figure(sizing(priced=False))
    assert len(figure.axes) == 1
    words = " ".join(text for text, _ in written(figure)).replace("\n", " ")
    assert "Costs nothing and is free" in words
    assert "stopped before it settled" in words


def test_small_vehicles_are_in_kilograms() -> None:
    """Below a tonne, thousandths of one are too coarse to read."""
    found = sizing()
    small = replace(
        found, given=light(found.given), ascent=replace(found.ascent, vehicle=light(found.vehicle))
    )
    assert small.vehicle.lift_off_mass < 1e3
    assert axis_labels(sizing_figure(small))[0] == "mass, kg"
    assert f"{small.vehicle.payload_mass:.3f}" in texts(sizing_figure(small))


def light(vehicle: ao.Vehicle) -> ao.Vehicle:
    """Of a hundredth of the masses and thrusts."""
    stages = [
        replace(
            one, propellant_mass=1e-2 * one.propellant_mass, dry_mass=1e-2 * one.dry_mass,
            engine=stronger(one.engine, 1e-2),
        )
        for one in vehicle.stages
    ]  # fmt: skip
    payload = 1e-2 * vehicle.payload_mass
    assert vehicle.fairing is not None
    fairing = replace(vehicle.fairing, mass=1e-2 * vehicle.fairing.mass)
    return replace(vehicle, stages=stages, payload_mass=payload, fairing=fairing)


def test_axes_have_units() -> None:
    assert axis_labels(sizing_figure(sizing())) == [
        "mass, t", "payload that one kg at lift-off buys, kg",
    ]  # fmt: skip
