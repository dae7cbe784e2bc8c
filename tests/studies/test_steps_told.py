"""What studies tell of themselves: rows of maps, numbers tuned, payloads tried, ways home."""

from __future__ import annotations

import logging
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.units import km
from tests.studies.wren import MISSION, VEHICLE


@cache
def _ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


def _told(caplog: pytest.LogCaptureFixture, study: str) -> list[str]:
    ours = [one for one in caplog.records if one.name == "ascentopt.studies"]
    assert {one.levelname for one in ours} == {"INFO"}
    return [text for one in ours if (text := one.getMessage()).startswith(f"{study}: ")]


def test_rows_of_a_map_are_told(caplog: pytest.LogCaptureFixture) -> None:
    steps: list[ao.Step[ao.CostMap]] = []
    with caplog.at_level(logging.INFO, logger="ascentopt"):
        found = ao.cost_map(
            _ascent(),
            ao.KickRule(),
            ao.Circularise(),
            across=(0.1, 0.15),
            upward=(60.0, 63.0),
            progress=steps.append,
        )
    first, second = _told(caplog, "cost_map")
    assert first.startswith("cost_map: kick speed 60: ")
    assert "reach the orbit" in second
    assert [(step.done, step.total) for step in steps] == [(1, 2), (2, 2), (2, 2)]
    assert steps[0].so_far is found  # asked for after the end, it is what there is then


def test_numbers_that_are_tuned_are_told(caplog: pytest.LogCaptureFixture) -> None:
    chosen = ao.Catalogue(rules=(ao.KickRule(),), insertions=(ao.Circularise(),))
    steps: list[ao.Step[ao.Comparison]] = []
    with caplog.at_level(logging.DEBUG, logger="ascentopt"):
        found = ao.compare(
            VEHICLE, MISSION, ascent=_ascent(), catalogue=chosen, progress=steps.append
        )
    tuned = next(one for one in found.outcomes if one.tuned)
    cost = f"{tuned.name}: {tuned.penalty:+.2f} kg"
    assert any(cost in line for line in _told(caplog, "compare"))
    assert any(
        one.name == "ascentopt.rules.tune.tuning" and " flights" in one.getMessage()
        for one in caplog.records
    )
    assert [(step.done, step.total) for step in steps] == [(0, 1), (1, 1), (1, 1)]


def test_flights_of_the_way_home_are_told(caplog: pytest.LogCaptureFixture) -> None:
    steps: list[ao.Step[ao.Deorbit]] = []
    stage = ao.orbiting(_ascent())
    with caplog.at_level(logging.INFO, logger="ascentopt"):
        home = ao.deorbit(stage, periapsis_altitude=30.0 * km, progress=steps.append)
    assert f"{home.propellant:.3f} kg" in _told(caplog, "deorbit")[-1]
    assert [step.over for step in steps] == [False] * (len(steps) - 1) + [True]


@pytest.mark.slow
def test_payloads_that_are_tried_are_told() -> None:
    steps: list[ao.Step[ao.MaxPayload]] = []
    heaviest: list[float] = []

    def keep(step: ao.Step[ao.MaxPayload]) -> None:
        steps.append(step)
        found = step.so_far
        if found is not None:
            heaviest.append(found.payload)

    most = ao.max_payload(VEHICLE, MISSION, progress=keep)
    assert steps[-1].over
    assert heaviest == sorted(heaviest)
    assert heaviest[-1] == most.payload
    assert any("kg of payload" in step.doing for step in steps)
