"""Limits on loads that act: programmes keep them, between the steps of a flight too."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.task import unwatched
from ascentopt.studies.simplify.open_flight import OpenFlights
from ascentopt.studies.simplify.simplify_task import task_of
from ascentopt.units import deg, km, kN, kPa, tonne

TEAL = ao.Vehicle(
    name="Teal",
    payload_mass=650.0,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=38 * tonne,
            dry_mass=3400.0,
            engine=ao.Engine(vacuum_thrust=760 * kN, vacuum_isp=305.0, sea_level_isp=271.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=8 * tonne,
            dry_mass=700.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=62 * kN, vacuum_isp=338.0),
        ),
    ),
    fairing=ao.Fairing(mass=210.0),
    aerodynamics=ao.Aerodynamics(reference_area=3.1, drag_coefficient=0.4),
)
SANDERLING = ao.Vehicle(
    name="Sanderling",
    payload_mass=800.0,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=45 * tonne,
            dry_mass=3600.0,
            engine=ao.Engine(vacuum_thrust=950 * kN, vacuum_isp=308.0, sea_level_isp=276.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=9 * tonne,
            dry_mass=800.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=70 * kN, vacuum_isp=340.0),
        ),
    ),
    fairing=ao.Fairing(mass=240.0),
    aerodynamics=ao.Aerodynamics(reference_area=3.0, drag_coefficient=0.45),
)

WHIMBREL = ao.Vehicle(
    name="Whimbrel",
    payload_mass=1500.0,
    stages=(
        ao.Stage(
            name="first",
            propellant_mass=80 * tonne,
            dry_mass=6500.0,
            engine=ao.Engine(vacuum_thrust=1500 * kN, vacuum_isp=290.0, sea_level_isp=262.0),
        ),
        ao.Stage(
            name="second",
            propellant_mass=15 * tonne,
            dry_mass=1300.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=130 * kN, vacuum_isp=332.0),
        ),
    ),
    fairing=ao.Fairing(mass=450.0),
    aerodynamics=ao.Aerodynamics(
        reference_area=5.5,
        drag_coefficient=ao.DragCurve(
            mach=(0.0, 0.8, 1.1, 2.0, 5.0), cd=(0.3, 0.32, 0.55, 0.4, 0.25)
        ),
    ),
)


def limited(limits: ao.FlightLimits, latitude: float, orbit: ao.CircularOrbit) -> ao.Mission:
    site = ao.LaunchSite(latitude=latitude)
    return ao.Mission(body=ao.earth(), site=site, orbit=orbit, limits=limits)


@pytest.fixture(scope="module")
def pressed() -> ao.Ascent:
    """Its dynamic pressure turns sharply at the foot of the stratosphere."""
    limits = ao.FlightLimits(dynamic_pressure=35 * kPa)
    return ao.optimize(TEAL, limited(limits, 41 * deg, ao.CircularOrbit(altitude=450 * km)))


@pytest.mark.parametrize("knots", [2, 3, 4])
def test_the_search_reads_the_peak_that_the_simulator_finds(pressed: ao.Ascent, knots: int) -> None:
    """Between the ends of steps: read at their ends it misses more than a limit's slack."""
    task = task_of(pressed, ao.Against.TIME, unwatched())
    search = task.searched(knots)
    assert search.best is not None
    (programme,) = task.flown(search)
    read = OpenFlights(search.flight, search.best).closed.loads[:, 1].max()
    found = np.nanmax(programme.flight.trajectory.dynamic_pressure)
    assert read == pytest.approx(found, rel=5e-4)
    assert programme.broken == ()


@pytest.mark.slow
def test_a_knot_more_within_the_limits_pays(pressed: ao.Ascent) -> None:
    """Two knots hardly follow the optimum; three do, and none needs to break the limit for it."""
    curve = ao.simplify_curve(pressed, range(2, 5))
    assert [len(one.knots) for one in curve] == [2, 3, 4]
    assert [one.broken for one in curve] == [(), (), ()]
    assert curve[1].penalty < 0.1 * curve[0].penalty
    assert curve[2].penalty < curve[1].penalty


@pytest.mark.slow
def test_limits_that_are_worth_much_are_kept_with_few_knots() -> None:
    """A hundredth of both is worth more here than what breaking them is charged to begin with."""
    limits = ao.FlightLimits(dynamic_pressure=38 * kPa, q_alpha=30 * kPa * deg)
    orbit = ao.CircularOrbit(altitude=500 * km, inclination=50 * deg)
    curve = ao.simplify_curve(
        ao.optimize(SANDERLING, limited(limits, 34 * deg, orbit)), range(2, 7)
    )
    assert [one.broken for one in curve] == [()] * 5
    for fewer, more in pairwise(curve):
        assert more.penalty <= fewer.penalty
    assert curve[-1].penalty < 0.5 * curve[0].penalty


@pytest.mark.slow
def test_one_programme_keeps_limits_that_some_with_fewer_knots_keep() -> None:
    """From the fitted knots alone the search ends at a corner of q alpha, beyond the limit."""
    limits = ao.FlightLimits(dynamic_pressure=40 * kPa, q_alpha=20 * kPa * deg)
    orbit = ao.CircularOrbit(altitude=400 * km)
    ascent = ao.optimize(WHIMBREL, limited(limits, 20 * deg, orbit))
    programme = ao.simplify(ascent, knots=5)
    assert programme.broken == ()
    assert len(programme.knots) <= 5
