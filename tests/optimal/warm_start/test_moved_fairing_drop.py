"""A solved flight told with the fairing dropped in another arc."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.fairing_drop import drop_time
from ascentopt.optimal.guess.family_search import fly_guess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved
from ascentopt.units import deg, km, kN, kPa
from tests.launchers import PELICAN_POINT, PHALAROPE, TURNSTONE
from tests.optimal.launchers import Launch, due_east, scaled_drag

FAIRING = TURNSTONE.fairing_mass


def fairing_at_burn_out() -> Launch:
    """A first stage that carries far: heating ends as it burns out."""
    vehicle = ao.Vehicle(
        name="Crake", payload_mass=1129.11,
        stages=(
            ao.Stage(name="stage 1", propellant_mass=59987.6, dry_mass=7146.81,
                     engine=ao.Engine(vacuum_thrust=1331.41 * kN, vacuum_isp=427.326,
                                      sea_level_isp=364.01, min_throttle=0.404243)),
            ao.Stage(name="stage 2", propellant_mass=12797.0, dry_mass=1673.38,
                     engine=ao.Engine(vacuum_thrust=112.286 * kN, vacuum_isp=361.048,
                                      sea_level_isp=118.341, min_throttle=0.994959),
                     ignition_delay=1.30167),
        ),
        fairing=ao.Fairing(mass=79.9948),
        aerodynamics=ao.Aerodynamics(reference_area=4.24208,
                                     drag_coefficient=scaled_drag(0.879164)),
    )  # fmt: skip
    body, site = ao.earth(), ao.LaunchSite(latitude=-17.717 * deg, altitude=127.42)
    mission = ao.Mission(
        body=body, site=site,
        orbit=ao.CircularOrbit(altitude=1091.62 * km, inclination=due_east(body, site)),
        limits=ao.FlightLimits(dynamic_pressure=40.8047 * kPa),
        vertical_rise=194.672,
    )  # fmt: skip
    return Launch(vehicle=vehicle, mission=mission)


@pytest.fixture(scope="module")
def attempt() -> Attempt:
    solver = task_of(TURNSTONE, PELICAN_POINT)
    return attempt_at(solver, direct(TURNSTONE))


@pytest.mark.parametrize("arc", ["first", "coast to second", "second"])
def test_it_is_the_same_flight_but_for_the_fairing(attempt: Attempt, arc: str) -> None:
    new = sequence_of(TURNSTONE, PELICAN_POINT, replace(attempt.plan, fairing_arc=arc))
    told = with_drop_moved(attempt.found, attempt.sequence, new, FAIRING)
    assert told is not None
    guess, old = told.guess, attempt.found.as_guess()
    assert len(guess.arcs) == len(new.arcs) == len(told.meshes)
    assert guess.instants[[0, -1]] == pytest.approx(old.instants[[0, -1]])
    for arc_before, arc_after, joint in zip(
        guess.arcs, guess.arcs[1:], (one.joint for one in new.arcs), strict=False
    ):
        ends, begins = arc_before.states[-1], arc_after.states[0]
        np.testing.assert_allclose(begins[:6], ends[:6], rtol=1e-9)
        if joint.fairing:
            after = ends[MASS] - FAIRING
            expected = after if joint.mass_after is None else joint.mass_after
            assert begins[MASS] == pytest.approx(expected, rel=1e-6)
    assert guess.arcs[0].states[0, MASS] == pytest.approx(new.mass)
    assert guess.arcs[-1].states[-1, MASS] == pytest.approx(old.arcs[-1].states[-1, MASS])


@pytest.mark.slow
def test_a_piece_of_microseconds_tells_nothing() -> None:
    """The fairing goes as the burn ends: points of the piece after it fall together in a share."""
    launch = fairing_at_burn_out()
    vehicle, mission = launch.vehicle, launch.mission
    ascent = launch.optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    plan = direct(vehicle)
    guess = fly_guess(sequence_of(vehicle, mission, plan), mission)
    assert vehicle.fairing is not None
    assert drop_time(guess, vehicle.fairing.max_heating)[0] == "coast to stage 2"
    (burned,) = [one for one in ascent.candidates if not one.plan.coast_before]
    assert burned.plan.fairing_arc == "stage 1"


@pytest.mark.slow
def test_a_payload_that_an_earlier_drop_would_heat_is_cooled_whatever_the_last_digits() -> None:
    """On Mars, to an ellipse: told with the drop in the first burn it is heated a thousandfold."""
    mission = ao.Mission(
        body=ao.mars(),
        site=ao.LaunchSite(latitude=12 * deg),
        orbit=ao.EllipticalOrbit(
            periapsis_altitude=250 * km, apoapsis_altitude=2500 * km, inclination=60 * deg
        ),
        limits=ao.FlightLimits(q_alpha=60 * kPa * deg),
    )
    used = [
        ao.optimize(replace(PHALAROPE, payload_mass=900.0 * more), mission).propellant_used
        for more in (1.0, 1.0 + 1e-10, 1.0 + 3e-7)
    ]
    assert max(used) - min(used) < 1e-6 * min(used)
