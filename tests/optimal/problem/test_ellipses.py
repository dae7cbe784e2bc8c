"""Ascents into ellipses: free elements, arguments of periapsis, and valleys that cost nothing."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Envelope, as_iterate_of, solve
from ascentopt.flight.plan import direct
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.target.ellipse import with_place_held
from ascentopt.optimal.result.partials import partials_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.units import deg, km, kN, tonne
from ascentopt.world.orbital_elements import OrbitalElements, elements
from tests.optimal.launchers import small_launcher

MOON, EARTH = ao.moon(), ao.earth()


def lander(thrust: float) -> ao.Vehicle:
    """One stage that can be lit again."""
    engine = ao.Engine(vacuum_thrust=thrust, vacuum_isp=318.0)
    stage = ao.Stage(
        name="ascent", propellant_mass=5.6 * tonne, dry_mass=1.1 * tonne, engine=engine, restarts=1
    )
    return ao.Vehicle(name="Curlew", payload_mass=0.8 * tonne, stages=(stage,))


WEAK, STRONG = lander(17.6 * kN), lander(26.7 * kN)


def from_the_moon(
    low: float, high: float, argument: float | None = None, inclination: float | None = 35.0
) -> ao.Mission:
    """To so many km, from twelve degrees north."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=low * km,
        apoapsis_altitude=high * km,
        inclination=None if inclination is None else inclination * deg,
        argument_of_periapsis=None if argument is None else argument * deg,
    )
    return ao.Mission(body=MOON, site=ao.LaunchSite(latitude=12 * deg), orbit=orbit)


def orbit_of(ascent: ao.Ascent) -> OrbitalElements:
    """In which the independent flight ends."""
    state = ascent.trajectory.final_state
    mu = ascent.mission.body.gravitational_parameter
    return elements(mu, state[:3], state[3:6])


@pytest.mark.slow
@pytest.mark.parametrize(
    ("vehicle", "mission", "propellant"),
    [
        (WEAK, from_the_moon(100.0, 180.0), 3489.5),  # a direct insertion takes 3770
        (WEAK, from_the_moon(40.0, 180.0), 3472.0),
        (WEAK, from_the_moon(100.0, 101.0, argument=120.0), 3467.5),
        (STRONG, from_the_moon(100.0, 180.0, argument=-60.0), 3337.5),  # and 3971
        (STRONG, from_the_moon(170.0, 180.0, argument=-60.0), 3357.5),
    ],
    ids=("100 x 180", "40 x 180", "100 x 101 at 120", "100 x 180 at -60", "170 x 180 at -60"),
)
def test_without_air_an_ellipse_takes_half_a_revolution_and_a_short_burn(
    vehicle: ao.Vehicle, mission: ao.Mission, propellant: float
) -> None:
    """Of those that were not solved the direct insertion was the answer, 2 to 19 % worse."""
    ascent = ao.optimize(vehicle, mission)
    assert not ascent.certificate.beyond(), ascent.certificate
    assert ascent.propellant_used < propellant
    assert ascent.candidates[0].plan.restarts == 1


@cache
def partial(**given: float) -> ao.Ascent:
    """The small launcher from near the equator into an orbit of which so much is given."""
    orbit = ao.EllipticalOrbit(**given)
    site = ao.LaunchSite(latitude=5 * deg)
    return ao.optimize(small_launcher(), ao.Mission(body=EARTH, site=site, orbit=orbit))


@pytest.mark.parametrize(
    ("given", "periapsis", "apoapsis"),
    [
        ({"apoapsis_altitude": 600 * km}, 100 * km, 600 * km),
        ({"periapsis_altitude": 250 * km}, 250 * km, 250 * km),
        ({"semi_major_axis": 6678 * km}, 100 * km, None),
        ({"eccentricity": 0.02}, 100 * km, None),
    ],
)
def test_what_is_free_of_an_orbit_stays_above_the_air(
    given: dict[str, float], periapsis: float, apoapsis: float | None
) -> None:
    """An apoapsis alone was answered by a lob whose periapsis lay deep in the planet."""
    ascent = partial(**given)
    assert not ascent.certificate.beyond(), ascent.certificate
    orbit = orbit_of(ascent)
    assert orbit.periapsis_radius - EARTH.radius == pytest.approx(periapsis, abs=50.0)
    if apoapsis is not None:
        assert orbit.apoapsis_radius - EARTH.radius == pytest.approx(apoapsis, abs=50.0)
    if "semi_major_axis" in given:
        assert orbit.semi_major_axis == pytest.approx(given["semi_major_axis"], abs=50.0)
    if "eccentricity" in given:
        assert orbit.eccentricity == pytest.approx(given["eccentricity"], abs=1e-5)


def test_an_apoapsis_alone_costs_what_the_ellipse_above_the_air_costs() -> None:
    both = partial(apoapsis_altitude=600 * km, periapsis_altitude=100.001 * km)
    alone = partial(apoapsis_altitude=600 * km)
    assert alone.propellant_used == pytest.approx(both.propellant_used, abs=0.05)


@pytest.mark.slow
def test_without_air_an_apoapsis_alone_leaves_the_ground_below() -> None:
    orbit = ao.EllipticalOrbit(apoapsis_altitude=180 * km)
    mission = ao.Mission(body=MOON, site=ao.LaunchSite(latitude=12 * deg), orbit=orbit)
    found = orbit_of(ao.optimize(STRONG, mission))
    assert found.periapsis_radius > MOON.radius - 10.0
    assert found.apoapsis_radius - MOON.radius == pytest.approx(180 * km, abs=50.0)


@pytest.mark.parametrize("inclination", [0.0, None])
def test_an_argument_of_periapsis_is_met_and_not_its_opposite(inclination: float | None) -> None:
    """Over the equator it counts from the x axis, as everywhere here."""
    orbit = ao.EllipticalOrbit(
        periapsis_altitude=250 * km,
        apoapsis_altitude=500 * km,
        inclination=inclination,
        argument_of_periapsis=60 * deg,
    )
    site = ao.LaunchSite(latitude=0.0 if inclination == 0.0 else 5 * deg)
    ascent = ao.optimize(small_launcher(), ao.Mission(body=EARTH, site=site, orbit=orbit))
    assert not ascent.certificate.beyond(), ascent.certificate
    assert orbit_of(ascent).argument_of_periapsis == pytest.approx(60 * deg, abs=1e-4)


@pytest.mark.slow
def test_an_orbit_that_is_hardly_an_ellipse_costs_what_the_circle_costs() -> None:
    """Across the eccentricity at which the conditions change."""
    circle = partial(periapsis_altitude=250 * km, apoapsis_altitude=250 * km)
    for wide in (0.6, 1.3, 1.4, 3.0):
        near = partial(periapsis_altitude=250 * km, apoapsis_altitude=(250 + wide) * km)
        # A kilometre of apoapsis costs 0.045 kg.
        assert near.propellant_used - circle.propellant_used == pytest.approx(
            0.045 * wide, abs=0.045 * wide
        )


def test_partials_of_apsides_are_differences_of_optima() -> None:
    orbit = ao.EllipticalOrbit(periapsis_altitude=250 * km, apoapsis_altitude=500 * km)
    site = ao.LaunchSite(latitude=5 * deg)
    case = Case(small_launcher(), ao.Mission(body=EARTH, site=site, orbit=orbit))

    def solved(low: float, high: float) -> float:
        changed = replace(orbit, periapsis_altitude=low * km, apoapsis_altitude=high * km)
        task = task_of(case.vehicle, replace(case.mission, orbit=changed))
        return refine_mesh(task, attempt_at(task, direct(case.vehicle))).final_mass

    task = task_of(case.vehicle, case.mission)
    partials = partials_of(case, refine_mesh(task, attempt_at(task, direct(case.vehicle))))
    by_low = (solved(252.0, 500.0) - solved(248.0, 500.0)) / 4.0
    by_high = (solved(250.0, 504.0) - solved(250.0, 496.0)) / 8.0
    assert partials["periapsis altitude"].margin == pytest.approx(by_low, rel=1e-2)
    assert partials["apoapsis altitude"].margin == pytest.approx(by_high, rel=1e-2)


def test_a_place_that_is_held_is_no_optimum_and_the_residual_says_so() -> None:
    """What is held has no condition of its own; told as free again, its slope is the residual."""
    task = task_of(STRONG, from_the_moon(100.0, 180.0))
    found = attempt_at(task, replace(direct(STRONG), restarts=0)).found
    assert found.residuals.dual < 1e-6
    elsewhere = found.free + np.array([*(0.0,) * (len(found.free) - 1), 0.05])
    fixed = with_place_held(found.problem, elsewhere)
    assert fixed is not None
    held = solve(fixed, found.as_guess())
    assert held.residuals.dual < 1e-6
    free = as_iterate_of(found.problem, held)
    envelope = Envelope.of(held)
    slope = envelope.lam_x[envelope.layout.free_variables][-1]  # the anomaly is the last
    assert abs(slope) > 1e-5
    assert free.residuals.dual == pytest.approx(abs(slope), rel=1e-6)
    assert held.objective < found.objective
