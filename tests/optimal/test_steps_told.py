"""What an optimisation tells of itself: to whom asks, and to nobody else."""

from __future__ import annotations

import logging
from dataclasses import replace
from itertools import pairwise
from typing import Any

import pytest

import ascentopt as ao
from ascentopt.units import tonne
from tests.optimal.launchers import lander, moon_mission


def told(caplog: pytest.LogCaptureFixture, name: str) -> list[str]:
    return [one.getMessage() for one in caplog.records if one.name == name]


def test_structures_refinement_and_the_closed_loop_are_told(
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    steps: list[ao.Step[ao.Ascent]] = []
    with caplog.at_level(logging.DEBUG, logger="ascentopt"):
        ascent = ao.optimize(lander(), moon_mission(), progress=steps.append)
    lines = told(caplog, "ascentopt.optimal")
    assert any(line.startswith("optimize: direct insertion: begun (") for line in lines)
    assert any("kg of propellant" in line for line in lines)
    assert any("refined to" in line and str(ascent.plan) in line for line in lines)
    assert all(line.startswith("optimize: ") and line.endswith(" s)") for line in lines)
    solves = told(caplog, "ascentopt.optimal.solve.ladder")
    assert any("iterations" in line for line in solves)
    assert {one.levelname for one in caplog.records} == {"DEBUG", "INFO"}
    assert [step.over for step in steps] == [False] * (len(steps) - 1) + [True]
    assert steps[-1].done == sum(
        after.done > before.done for before, after in pairwise(steps)
    )
    best = steps[-1].so_far
    assert best is not None
    assert best.propellant_used == pytest.approx(ascent.propellant_used, rel=1e-6)
    assert capfd.readouterr() == ("", "")


def test_nothing_is_told_where_nobody_asks(
    caplog: pytest.LogCaptureFixture, capfd: pytest.CaptureFixture[str]
) -> None:
    ao.optimize(lander(), moon_mission())
    assert [one for one in caplog.records if one.levelno < logging.WARNING] == []
    assert capfd.readouterr() == ("", "")


def test_the_greatest_payload_of_a_refusal_is_told(caplog: pytest.LogCaptureFixture) -> None:
    vehicle = replace(lander(), payload_mass=9.0 * tonne)
    with (
        caplog.at_level(logging.INFO, logger="ascentopt"),
        pytest.raises(ao.InfeasibleAscent),
    ):
        ao.optimize(vehicle, moon_mission())
    lines = told(caplog, "ascentopt.optimal")
    assert sum("kg of payload at most" in line for line in lines) == 1


def test_what_a_callable_raises_ends_the_work_and_is_named_as_the_cause() -> None:
    def failing(_: ao.Step[Any]) -> None:
        raise LookupError("the caller's")

    with pytest.raises(ao.InputError, match=r"optimize: progress .* LookupError") as refused:
        ao.optimize(lander(), moon_mission(), progress=failing)
    assert isinstance(refused.value.__cause__, LookupError)
