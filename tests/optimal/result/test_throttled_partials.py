"""Partials where the throttle keeps limits, against optima that are each solved and refined anew.

No mesh is shared: where a limit begins to hold within an interval used to move its partial by up to
13 per cent. The steps are small enough for the third derivative, which is large where the thrust
comes near the limit, and large enough for what is left of the cost's error, a few grams.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import SolverSettings
from ascentopt.collocation.refinement.switching_points import corners
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort
from ascentopt.optimal.perturbations import Case, variations
from ascentopt.optimal.result.partials import partials_of
from ascentopt.optimal.solve.refine import with_narrow_corners
from ascentopt.progress import TimeIsUp
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, kPa
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.result.test_partials import pressed, solved_anew


def loads(pressure: float, acceleration: float) -> dict[str, float]:
    """Limits in kPa and g."""
    return {
        "dynamic_pressure": pressure * kPa,
        "axial_acceleration": acceleration * STANDARD_GRAVITY,
    }


def turnstone() -> Case:
    """The example, its engines throttled to 0.6, to a higher and inclined orbit."""
    stages = tuple(
        replace(stage, engine=replace(stage.engine, min_throttle=0.6))
        for stage in TURNSTONE.stages
        if isinstance(stage.engine, ao.Engine)
    )
    mission = replace(
        PELICAN_POINT,
        orbit=ao.CircularOrbit(altitude=400 * km, inclination=40 * deg),
        limits=ao.FlightLimits(**loads(35.0, 4.0)),
    )
    return Case(replace(TURNSTONE, stages=stages), mission)


def wigeon() -> Case:
    """Two liquid boosters beside a core that throttles deep, far north."""
    core = ao.Engine(
        vacuum_thrust=1500 * kN, vacuum_isp=335.0, sea_level_isp=290.0, min_throttle=0.45
    )
    upper = ao.Engine(vacuum_thrust=210 * kN, vacuum_isp=362.0, min_throttle=0.6)
    side = ao.Engine(vacuum_thrust=620 * kN, vacuum_isp=300.0, sea_level_isp=268.0)
    flown = ao.Vehicle(
        name="Wigeon",
        payload_mass=3200.0,
        stages=(
            ao.Stage(name="core", propellant_mass=95e3, dry_mass=7500.0, engine=core),
            ao.Stage(name="upper", propellant_mass=26e3, dry_mass=2400.0, engine=upper,
                     ignition_delay=2.0),
        ),
        boosters=(
            ao.BoosterGroup(name="side", count=2, propellant_mass=21e3, dry_mass=1900.0,
                            engine=side),
        ),
        fairing=ao.Fairing(mass=700.0),
        aerodynamics=ao.Aerodynamics(
            reference_area=9.0,
            drag_coefficient=ao.DragCurve(
                mach=(0.0, 0.7, 1.0, 1.2, 2.0, 4.0, 8.0),
                cd=(0.32, 0.33, 0.5, 0.52, 0.4, 0.28, 0.24),
            ),
        ),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(name="North Spit", latitude=46 * deg, altitude=90.0),
        orbit=ao.CircularOrbit(altitude=420 * km, inclination=62 * deg),
        limits=ao.FlightLimits(**loads(33.0, 3.3)),
    )
    return Case(flown, mission)


STEPS = {"km": 2.0, "deg": 0.2, "kg": 5.0, "s": 1.0, "%": 0.5, "kPa": 0.5, "g": 0.05}

OWN = ("vacuum Isp", "thrust", "dry mass")
"""Of each stage."""

OTHERS = (
    "limit on dynamic pressure",
    "limit on axial acceleration",
    "orbit altitude",
    "inclination",
    "payload",
)

WITH_PARTIALS = [
    pytest.param(make, variation.quantity, id=f"{make.__name__}-{variation.quantity}")
    for make in (pressed, turnstone, wigeon)
    for variation in variations(make())
    if variation.quantity in OTHERS or variation.quantity.split(": ")[-1] in OWN
    if variation.quantity not in ("second: dry mass", "upper: dry mass")  # as dear as payload
]


@cache
def solved(make: Callable[[], Case]) -> tuple[Case, Attempt]:
    return solved_anew(make())


def margin(case: Case) -> float:
    """Propellant left when the case is solved from nothing and refined, kg."""
    _, attempt = solved_anew(case)
    assert attempt.refined
    return attempt.final_mass - attempt.sequence.arcs[-1].least_mass


@pytest.mark.slow
@pytest.mark.parametrize(("make", "quantity"), WITH_PARTIALS)
def test_a_partial_is_the_difference_of_two_optima_on_meshes_of_their_own(
    make: Callable[[], Case], quantity: str
) -> None:
    case, attempt = solved(make)
    variation = next(one for one in variations(case) if one.quantity == quantity)
    step = STEPS[variation.unit]
    gained = margin(variation.changed(step)) - margin(variation.changed(-step))
    partial = partials_of(case, attempt)[quantity]
    assert partial.margin == pytest.approx(gained / (2.0 * step), rel=1e-2)


@pytest.mark.slow
def test_the_main_job_says_so_too() -> None:
    """With every structure, and a plan that leads the flight."""
    case, quantity, step = turnstone(), "limit on axial acceleration", 0.05
    variation = next(one for one in variations(case) if one.quantity == quantity)
    less, as_it_is, more = (
        ao.optimize(one.vehicle, one.mission)
        for one in (variation.changed(-step), case, variation.changed(step))
    )
    gained = (more.propellant_margin - less.propellant_margin) / (2.0 * step)
    assert as_it_is.partials[quantity].margin == pytest.approx(gained, rel=1e-2)


def test_corners_of_the_throttle_lie_in_narrow_intervals() -> None:
    """Where the throttle begins to keep the axial acceleration it does so within half a second."""
    _, attempt = solved(pressed)
    own = next(arc for arc in attempt.found.arcs if arc.arc.name == "first")
    found = corners(own)
    lengths = own.arc.mesh.widths[found] * own.duration
    assert found.sum() >= 3
    assert lengths.max() < 0.5
    at = np.array(own.arc.mesh.breaks[:-1])[found] * own.duration + own.times[0]
    assert np.abs(at - 137.4).min() < 0.5  # by hand: full thrust over the mass then is 4 g


def test_corners_that_cannot_be_narrowed_are_told() -> None:
    """The last good mesh stands, and the history says what its partials lack."""
    _, attempt = solved(pressed)
    narrower = replace(Effort().refinement, widest_corner=1e-4)
    kept, told = with_narrow_corners(attempt.found, narrower, lambda: SolverSettings(iterations=1))
    assert kept is attempt.found
    assert "corners of the throttle stay in wide intervals" in told[0]


def test_corners_wait_where_no_time_is_left() -> None:
    def out_of_time() -> SolverSettings:
        raise TimeIsUp

    _, attempt = solved(pressed)
    narrower = replace(Effort().refinement, widest_corner=1e-4)
    kept, told = with_narrow_corners(attempt.found, narrower, out_of_time)
    assert kept is attempt.found
    assert "no time was left" in told[0]
