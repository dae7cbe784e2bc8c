"""Orbits that take a coast of hours, and what they cost beyond the parking orbit.

Impulsive transfers are two-body: one impulse at the periapsis of the parking orbit, one at the
apoapsis of the transfer, each with a part of the plane change (V. A. Chobotov, ed., *Orbital
Mechanics*, 3rd ed., AIAA 2002, chapter on orbital manoeuvres; from memory).
"""

from __future__ import annotations

from functools import cache
from math import cos, log, sqrt

import pytest
from scipy.optimize import minimize_scalar

import ascentopt as ao
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.units import STANDARD_GRAVITY, deg, km
from tests.optimal.three_stages import inclination, launch_to, orbit_at, spoonbill

MU, RADIUS = 3.986004418e14, 6378137.0
"""Of the Earth, m^3/s^2 and m."""

NAVIGATION, GEOSTATIONARY = 20200 * km, 35786 * km
"""Altitudes, m."""


def turned(before: float, after: float, angle: float) -> float:
    """m/s between two speeds whose directions differ by an angle."""
    return sqrt(before**2 + after**2 - 2.0 * before * after * cos(angle))


def transfer(speed: float, low: float, high: float, turn: float) -> tuple[float, float]:
    """m/s from a speed at the periapsis radius ``low`` to the circle of radius ``high`` in a plane
    that is turned by so much, with the best split; and the part that is turned first, rad."""
    leaving, arriving = (sqrt(2.0 * MU * b / (a * (a + b))) for a, b in ((low, high), (high, low)))

    def cost(first: float) -> float:
        return turned(speed, leaving, first) + turned(arriving, sqrt(MU / high), turn - first)

    best = minimize_scalar(cost, bounds=(0.0, turn), method="bounded", options={"xatol": 1e-12})
    return float(best.fun), float(best.x)


@cache
def to(altitude: float, latitude: float, restarts: int, payload: float) -> ao.Ascent:
    """From a latitude in degrees to a circle over the equator."""
    orbit = ao.CircularOrbit(altitude=altitude, inclination=0.0 if latitude else None)
    return ao.optimize(spoonbill(restarts, payload), launch_to(orbit, latitude * deg))


Case = tuple[float, float, int, float]
"""Altitude in m, latitude in deg, restarts of the last stage, payload in kg."""

FROM_THE_EQUATOR: list[Case] = [(NAVIGATION, 0.0, 1, 4000.0), (GEOSTATIONARY, 0.0, 1, 4000.0)]
TURNED: list[Case] = [(GEOSTATIONARY, 28.5, 1, 2000.0), (GEOSTATIONARY, 28.5, 2, 2000.0)]


def test_the_closed_form_gives_the_published_transfer() -> None:
    """From 185 km and 28.5 deg to the geostationary radius."""
    low, high = RADIUS + 185 * km, 42164.17 * km
    cost, first = transfer(sqrt(MU / low), low, high, 28.5 * deg)
    assert cost == pytest.approx(4272.4296, abs=1e-4)
    assert first / deg == pytest.approx(2.164502, abs=1e-5)


@pytest.mark.slow
@pytest.mark.parametrize("case", FROM_THE_EQUATOR + TURNED)
def test_a_coast_of_hours_is_certified_and_nothing_that_nobody_set_acts(
    case: Case,
) -> None:
    ascent = to(*case)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.certificate.structures is not None
    assert ascent.certificate.structures.active_bounds == ()
    assert ascent.propellant_margin > 1000.0


def longest_coast(ascent: ao.Ascent) -> tuple[float, float]:
    """s that it lasts, and half a revolution of the orbit in which it ends."""
    arcs = [arc for arc in ascent.trajectory.arcs if arc.name.startswith("coast")]
    coast = max(arcs, key=lambda arc: float(arc.times[-1] - arc.times[0]))
    half = 0.5 * orbit_at(ascent, ascent.trajectory.arcs.index(coast)).period
    return float(coast.times[-1] - coast.times[0]), half


@pytest.mark.slow
@pytest.mark.parametrize("case", FROM_THE_EQUATOR)
def test_the_coast_to_a_circle_in_the_plane_is_half_a_revolution_of_the_transfer(
    case: Case,
) -> None:
    """But for the burns beside it, which end beyond the periapsis and begin before the apoapsis."""
    lasts, half = longest_coast(to(*case))
    assert lasts > 6000.0
    assert lasts == pytest.approx(half, rel=0.03)


@pytest.mark.slow
def test_who_burns_once_in_the_parking_orbit_is_at_the_node_after_the_apoapsis() -> None:
    """The first burn cannot wait for the node, so the plane is turned beyond the apoapsis; with a
    restart more both are one.
    """
    (late, its_half), (at_it, half) = (longest_coast(to(*case)) for case in TURNED)
    assert late > 1.03 * its_half
    assert at_it == pytest.approx(half, rel=0.03)


@pytest.mark.parametrize("case", TURNED)
def test_the_geostationary_orbit_is_equatorial_and_at_its_radius(
    case: Case,
) -> None:
    ascent = to(*case)
    end = orbit_at(ascent, -1)
    assert inclination(ascent) < 1e-4
    assert end.semi_major_axis == pytest.approx(RADIUS + GEOSTATIONARY, rel=1e-7)
    assert end.eccentricity < 1e-6


def test_two_burns_beyond_the_parking_orbit_cost_a_little_more_than_two_impulses() -> None:
    """What is flown starts from the ellipse in which the first coast ends; finite burns lose some
    per cent to gravity, and never gain.
    """
    ascent = to(*TURNED[1])
    assert ascent.plan == FlightPlan(
        inserting_stage=2, restarts=2, fairing_arc=ascent.plan.fairing_arc
    )
    names = [arc.name for arc in ascent.trajectory.arcs]
    parked = next(k for k, name in enumerate(names) if name.startswith("coast"))
    orbit = orbit_at(ascent, parked)
    low = orbit.periapsis_radius
    speed = sqrt(MU * (2.0 / low - 1.0 / orbit.semi_major_axis))
    least, first = transfer(speed, low, RADIUS + GEOSTATIONARY, orbit.inclination)
    mass = ascent.trajectory.arcs[parked].states[-1, 6]
    flown = 450.0 * STANDARD_GRAVITY * log(mass / ascent.final_mass)
    assert 27.0 * deg < orbit.inclination < 28.5 * deg
    assert least < flown < 1.04 * least
    after = orbit_at(ascent, len(names) - 2)
    assert orbit.inclination - after.inclination == pytest.approx(first, abs=0.5 * deg)


def test_a_restart_more_leaves_more_for_a_plane_below_the_latitude() -> None:
    """With one, the first burn goes on to the transfer and cannot wait for the node."""
    once, twice = (to(*case) for case in TURNED)
    assert twice.propellant_margin > once.propellant_margin + 100.0


@pytest.mark.slow
def test_half_the_payload_leaves_more_of_the_propellant() -> None:
    light, heavy = (to(GEOSTATIONARY, 0.0, 1, payload) for payload in (2000.0, 4000.0))
    assert light.certificate.verdict is Verdict.CERTIFIED
    assert light.propellant_margin > heavy.propellant_margin + 1000.0
