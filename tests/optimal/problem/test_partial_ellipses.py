"""Elements of an ellipse that are left free stay where an orbit can be flown: above the air."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import km
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.three_stages import orbit_at

MISS = 20.0
"""m of an apsis: a millimetre per second at the insertion moves the one across by some metres."""


@cache
def up_to(apoapsis: float) -> ao.Ascent:
    """To an ellipse of which nothing else is given."""
    orbit = ao.EllipticalOrbit(apoapsis_altitude=apoapsis)
    return ao.optimize(TURNSTONE, replace(PELICAN_POINT, orbit=orbit))


def apsides(ascent: ao.Ascent) -> tuple[float, float]:
    """Altitudes over the equatorial radius as flown, m."""
    orbit, radius = orbit_at(ascent, -1), ascent.mission.body.radius
    return orbit.periapsis_radius - radius, orbit.apoapsis_radius - radius


@pytest.mark.slow
def test_an_apoapsis_alone_is_reached_by_an_orbit_and_no_lob() -> None:
    ascent = up_to(400 * km)
    low, high = apsides(ascent)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert high == pytest.approx(400 * km, abs=MISS)
    assert low > ascent.mission.floor - MISS


@pytest.mark.slow
def test_the_free_periapsis_is_as_good_as_any_that_is_given() -> None:
    """As low as can be: each higher one costs more."""
    given = [
        ao.optimize(
            TURNSTONE,
            replace(
                PELICAN_POINT,
                orbit=ao.EllipticalOrbit(periapsis_altitude=low, apoapsis_altitude=400 * km),
            ),
        )
        for low in (120 * km, 200 * km)
    ]
    free = up_to(400 * km)
    for one in given:
        assert free.propellant_used < one.propellant_used + 1e-6 * one.propellant_used


def test_an_apoapsis_below_the_ceiling_is_refused() -> None:
    with pytest.raises(ao.InputError, match="periapsis"):
        replace(PELICAN_POINT, orbit=ao.EllipticalOrbit(apoapsis_altitude=90 * km))
