"""Scenarios have names, differ, and are those that the examples fly."""

from __future__ import annotations

import ascentopt as ao
from ascentopt.rocket.performance import burns


def test_each_stands_under_its_name() -> None:
    found = ao.scenarios()
    assert [one.name for one in found.values()] == list(found)
    assert len({(one.vehicle, str(one.mission)) for one in found.values()}) == len(found) == 16
    bodies = {one.mission.body.name for one in found.values()}
    assert bodies == {"Earth", "Mars", "Moon", "Marble", "Pebble"}
    assert all(name.startswith(one.mission.body.name.lower()) for name, one in found.items())


def test_small_planets_and_strong_first_stages_are_among_them() -> None:
    found = ao.scenarios()
    small = [one for one in found.values() if one.mission.body.radius < 1e6]
    assert len(small) >= 4
    ratios = {name: thrust_to_weight(one) for name, one in found.items()}
    assert min(ratios.values()) > 1.0
    assert ratios["earth-strong-first"] == max(
        ratio for name, ratio in ratios.items() if name.startswith("earth")
    )


def thrust_to_weight(one: ao.Scenario) -> float:
    body = one.mission.body
    weight = one.vehicle.lift_off_mass * body.gravitational_parameter / body.radius**2
    return burns(one.vehicle)[0].thrust / weight
