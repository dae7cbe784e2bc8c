"""What a user gives a sweep is warned of like what he describes."""

from __future__ import annotations

import warnings
from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.optimal.perturbations import Case
from ascentopt.studies.sweep.points.grid import swept_points
from tests.studies.wren import MISSION, VEHICLE

TONNES = {"payload_mass": [0.7, 0.8, 0.9]}


def test_tonnes_are_warned_of_once_and_where_the_user_wrote_them() -> None:
    with pytest.warns(ao.UnusualInputWarning, match=r"payload_mass .*write 0\.7 \* tonne") as told:
        swept_points(Case(VEHICLE, MISSION), TONNES)
    assert len(told) == 1
    assert told[0].filename == __file__


def test_what_was_unusual_before_is_not_told_again() -> None:
    with pytest.warns(ao.UnusualInputWarning):
        light = replace(VEHICLE, payload_mass=0.75)
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        swept_points(Case(light, MISSION), TONNES)


def test_usual_values_are_not_warned_of() -> None:
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        swept_points(Case(VEHICLE, MISSION), {"payload_mass": [700.0, 900.0]})
