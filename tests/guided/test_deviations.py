"""What differs is held against the vehicle, and does to a flight what it says."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.guided.deviations import AirDeviations, Deviations
from tests.guided.flights import as_planned, none, ready

NAME = "earth-small"


def changed(count: int = 1, **fields: Any) -> Deviations:
    """Flights of the scenario, as described but for some fields."""
    return replace(none(ready(NAME), count), **fields)


def ends(deviations: Deviations) -> np.ndarray:
    """(A,) s at which the arcs of its first draw end."""
    return np.asarray(ready(NAME).fly(deviations).arc_ends[0])


@pytest.mark.parametrize(
    ("field", "value", "rule"),
    [
        ("thrust", np.array([[1.0, 0.0]]), "above 0"),
        ("isp", np.ones((1, 3)), "shape"),
        ("payload", np.array([np.nan]), "finite"),
        ("separation_delay", np.array([[-1.0, 0.0]]), "0 or more"),
        ("ignition_delay", np.array([[1.0, 0.0]]), "first stage"),
    ],
)
def test_nonsense_is_refused(field: str, value: np.ndarray, rule: str) -> None:
    with pytest.raises(ao.InputError, match=rule):
        changed(1, **{field: value})


def test_air_of_another_number_of_draws_is_refused() -> None:
    flat = np.ones((2, 1))
    air = AirDeviations(altitude=np.zeros(1), density=flat, east=0.0 * flat, north=0.0 * flat)
    with pytest.raises(ao.InputError, match="2 draws"):
        changed(air=air)


def test_altitudes_must_rise() -> None:
    flat = np.ones((1, 2))
    with pytest.raises(ao.InputError, match="increases"):
        AirDeviations(altitude=np.array([1.0, 0.0]), density=flat, east=flat, north=flat)


def test_another_vehicle_is_refused() -> None:
    with pytest.raises(ao.InputError, match="3 parts"):
        ready(NAME).fly(Deviations.none(1, stages=3))


def test_an_empty_tank_is_refused() -> None:
    with pytest.raises(ao.InputError, match="propellant"):
        ready(NAME).fly(changed(propellant=np.array([[-1e5, 0.0]])))


def test_delays_are_waited_for() -> None:
    planned = as_planned(NAME).arc_ends[0]
    place = ready(NAME).arcs.index("coast to second")
    late = changed(
        separation_delay=np.array([[0.7, 0.0]]), ignition_delay=np.array([[0.0, 1.1]])
    )
    got = ends(late)
    assert got[place - 1] == pytest.approx(planned[place - 1], abs=1e-6)
    assert got[place] == pytest.approx(planned[place] + 0.7, abs=1e-6)
    found = ready(NAME).fly(late)
    assert found.handover[0] <= found.arc_ends[0, place + 1]
    assert found.end[0] == 0


def test_a_thin_layer_of_air_differs_only_there() -> None:
    knots = np.array([0.0, 5e4, 5.0001e4, 1e5])
    wind = np.array([[0.0, 0.0, 60.0, 60.0]])
    air = AirDeviations(altitude=knots, density=np.ones((1, 4)), east=wind, north=0.0 * wind)
    first = ready(NAME).arcs.index("first")
    still, windy = as_planned(NAME), ready(NAME).fly(changed(air=air))
    assert windy.arc_ends[0, first] == pytest.approx(still.arc_ends[0, first], abs=1e-9)
    assert windy.loads.dynamic_pressure == pytest.approx(still.loads.dynamic_pressure, rel=1e-6)
    assert windy.final_state[0, :3] != pytest.approx(still.final_state[0, :3], abs=1e-3)


def test_heavier_and_weaker_leaves_less() -> None:
    heavier = changed(payload=np.array([2.0]))
    weaker = changed(isp=np.array([[0.99, 1.0]]))
    planned = as_planned(NAME).margin[0]
    for one in (heavier, weaker):
        assert ready(NAME).fly(one).margin[0] < planned


def test_density_scales_the_pressure_on_the_way() -> None:
    flat = np.ones((1, 1))
    air = AirDeviations(altitude=np.zeros(1), density=1.1 * flat, east=0 * flat, north=0 * flat)
    got = ready(NAME).fly(changed(air=air)).loads.dynamic_pressure[0]
    wanted = 1.1 * as_planned(NAME).loads.dynamic_pressure[0]
    assert got == pytest.approx(wanted, rel=0.02)


def test_a_platform_turned_about_the_vertical_heads_elsewhere() -> None:
    turned = changed(alignment=np.array([[0.0, 0.0, 0.01]]))
    tilt = ready(NAME).fly(turned).inclination[0] - as_planned(NAME).inclination[0]
    assert abs(tilt) > 1e-4
    assert ready(NAME).fly(turned).misses.position[0] < 100.0
