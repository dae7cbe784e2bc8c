"""Angles of a map in degrees, and sides that are exchanged, are refused with the slip."""

from __future__ import annotations

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.maps.axis import Axis
from ascentopt.studies.maps.axis_sense import check_angles
from ascentopt.units import deg

SPEED, ANGLE = ao.KickRule().open
ANGLES, SPEEDS = (5.0, 10.0, 20.0), (30.0, 60.0, 90.0)


def sides(across: tuple[float, ...], upward: tuple[float, ...]) -> list[Axis]:
    return [
        Axis(name=one.name, unit=one.unit, values=np.array(values))
        for one, values in ((ANGLE, across), (SPEED, upward))
    ]


def test_degrees_are_refused() -> None:
    with pytest.raises(ao.InputError, match=r"across holds 5 rad for the kick angle.*5 \* deg"):
        check_angles(sides(ANGLES, SPEEDS), (ANGLE, SPEED))


def test_sides_that_are_exchanged_are_refused() -> None:
    angles = tuple(angle * deg for angle in ANGLES)
    with pytest.raises(ao.InputError, match="exchanged with upward, which is the kick speed"):
        check_angles(sides(SPEEDS, angles), (ANGLE, SPEED))


def test_radians_and_angles_as_wide_as_the_rule_tunes_them_pass() -> None:
    angles = tuple(angle * deg for angle in ANGLES)
    check_angles(sides(angles, SPEEDS), (ANGLE, SPEED))
    turned = ao.Open(name="kick angle", unit="rad", low=0.0, high=6.3)
    check_angles(sides((3.0, 6.0), SPEEDS), (turned, SPEED))
