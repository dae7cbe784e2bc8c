"""How far above the ground a flight is kept, where it would rather hug it."""

from __future__ import annotations

from dataclasses import replace
from math import sinh, sqrt

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Arc
from ascentopt.collocation.model import physical
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.problem.path_limits import NEAR_GROUND, Clearance
from ascentopt.optimal.problem.transcription import BETWEEN_NODES, Transcription
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.units import deg, km, kN
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.solve.counted import CountedSolves
from tests.optimal.three_stages import three_stages
from tests.optimal.told import MESH


def least_altitudes(mission: ao.Mission, speed: float = 100.0) -> dict[str, float]:
    """m above the ellipsoid that each arc of a direct insertion keeps at a speed in m/s."""
    vehicle = three_stages((0.0, 0.0))
    sequence = sequence_of(vehicle, mission, direct(vehicle))
    problem = Transcription(
        vehicle=vehicle,
        mission=mission,
        sequence=sequence,
        meshes=(MESH,) * len(sequence.arcs),
        limited_arcs=frozenset(),
        needs_ground_clearance=True,
    ).greatest_mass_problem()
    watched = [arc for arc in problem.arcs if CLEARANCE in arc.model.path]
    return {
        arc.name: NEAR_GROUND - NEAR_GROUND * sinh(told(arc, NEAR_GROUND, speed)) for arc in watched
    }


def told(arc: Arc, altitude: float, speed: float) -> float:
    """What an arc's clearance is told as, so many m above the Moon at a speed in m/s eastward."""
    state = np.array([[ao.moon().radius + altitude, 0.0, 0.0, 0.0, speed, 0.0, 1000.0]]).T
    control, now = np.eye(len(arc.model.controls), 1), np.zeros((1, 1))
    _, path = physical(arc.model)(now, now, state, control, np.array([arc.parameters]).T)
    row = arc.model.path.index(CLEARANCE)
    bounds = arc.path_bounds
    assert bounds is not None
    assert bounds.lower[row] == 0.0
    return float(np.array(path)[row, 0])


CLEARANCE = Clearance(0.0).quantity


@pytest.mark.parametrize("site", [0.0, 250.0])
def test_without_a_vertical_rise_upper_stages_keep_what_a_flight_may_be_off(site: float) -> None:
    found = least_altitudes(without_rise(site))
    assert found["second"] == found["third"] == pytest.approx(site + BETWEEN_NODES, abs=1e-6)


@pytest.mark.parametrize("site", [0.0, 250.0])
def test_without_a_vertical_rise_the_first_stage_keeps_it_once_it_is_fast(site: float) -> None:
    """It begins on the ground, and hugs it until it is as fast as a circle there."""
    moon = ao.moon()
    fast = sqrt(moon.gravitational_parameter / moon.radius)
    ground = moon.rotation_rate * moon.radius
    for share in (0.0, 0.5, 1.0):
        found = least_altitudes(without_rise(site), ground + share * fast)
        assert found["first"] == pytest.approx(site + share**2 * BETWEEN_NODES, abs=0.02)


def test_a_weak_vehicle_that_hugs_the_ground_from_its_pad_on_stays_above_it() -> None:
    """Thrust of 1.4 times its weight: the first burn ends near the ground with orbital speed."""
    mission = moon_mission(latitude=90 * deg)
    orbit = ao.CircularOrbit(altitude=2500 * km, inclination=66 * deg)
    weak = lander(thrust=17 * kN)
    weak = replace(weak, stages=(replace(weak.stages[0], restarts=3),))
    ascent = ao.optimize(weak, replace(mission, orbit=orbit, vertical_rise=None))
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    burn = ascent.trajectory.arcs[0]
    heights = ascent.trajectory.altitude[ascent.trajectory.time <= burn.times[-1]]
    assert heights.min() >= 0.0
    assert heights[-1] < 100.0


def without_rise(altitude: float) -> ao.Mission:
    """From the Moon, the pad so many m high."""
    mission = moon_mission()
    return replace(mission, site=replace(mission.site, altitude=altitude), vertical_rise=None)


def test_half_a_vertical_rise_is_kept_by_every_burn() -> None:
    found = least_altitudes(replace(moon_mission(), vertical_rise=80.0))
    assert list(found.values()) == pytest.approx([40.0] * len(found), abs=1e-6)
    assert found


def test_a_clearance_holds_no_flight_fast_that_is_far_above_it() -> None:
    """The solver holds slacks as it holds places: told in kilometres, where a place is told in
    radii, the height of a coast to a high circle moved by some metres in each iteration."""
    counts = [iterations_to(altitude) for altitude in (100 * km, 20000 * km)]
    assert counts[1] <= 2 * counts[0]


def iterations_to(altitude: float) -> int:
    """Of the burn, coast and burn of a lander from the Moon to a circle."""
    mission = replace(moon_mission(), orbit=ao.CircularOrbit(altitude=altitude))
    solves = CountedSolves()
    task = replace(task_of(lander(), mission), remembered=solves)
    found = attempt_at(task, FlightPlan(inserting_stage=0, restarts=1))
    assert found.needs_ground_clearance
    assert found.reached
    assert not found.stopped_short
    return solves.iterations
