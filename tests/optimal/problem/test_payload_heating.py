"""Once its fairing has gone the payload stays cool: in burns, in coasts and between the nodes."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import RadauMesh
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.flight.results.limit_check import PAYLOAD_HEATING
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.optimum import Optimum
from ascentopt.optimal.perturbations import Case, variations
from ascentopt.optimal.problem.payload_heating import (
    fairing_may_stay_in_orbit,
    fairing_must_stay,
    heating_at,
)
from ascentopt.optimal.problem.transcription import Transcription
from ascentopt.optimal.result.certificate import certify, primer_angle
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.flown_start import FlownStart, first_guess
from ascentopt.optimal.switching.fairing_drop import price_of_heating
from ascentopt.units import deg, km, kN
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import earth_mission, moon_mission
from tests.optimal.problem.test_limits import vehicle
from tests.optimal.result.test_partials import margin_of, slope

BEARS = 1135.0
KEPT = 1.006
"""Between the nodes a refined mesh leaves half a per cent of a logarithm."""

FAIRING = ao.Fairing(mass=320.0)


@cache
def low_coast(max_heating: float = BEARS) -> Optimum:
    """Burnt out far below a circle at 300 km, and half a revolution up to it."""
    launcher = replace(TURNSTONE, fairing=ao.Fairing(mass=320.0, max_heating=max_heating))
    return optimum(launcher, PELICAN_POINT, Effort())


def heat_after_the_drop(ascent: ao.Ascent) -> np.ndarray:
    """W/m^2, at 20000 instants from the drop on."""
    start, track = ascent.events["fairing drop"].time, ascent.trajectory
    return np.asarray(track.at(np.linspace(start + 1e-6, ascent.flight_time, 20000)).heating)


@pytest.mark.slow
def test_the_payload_stays_cool_from_the_drop_through_burn_and_low_coast() -> None:
    """Without that the best flight goes on in air that heats it by tens of kW/m2."""
    ascent = low_coast().ascent
    assert ascent.plan.restarts == 1
    assert heat_after_the_drop(ascent).max() < KEPT * BEARS
    assert ascent.certificate.verdict.name == "CERTIFIED"
    assert ascent.certificate.limit_excess < 0.01
    careless = low_coast(100.0 * BEARS).ascent
    assert heat_after_the_drop(careless).max() > 10.0 * BEARS, "the limit acts"
    assert careless.propellant_used < ascent.propellant_used


def test_it_stays_cool_between_the_nodes_of_every_arc() -> None:
    attempt = low_coast().attempt
    exposed = attempt.sequence.exposed
    assert exposed == ("second, bare", "coast 1", "second burn 2")
    peaks = {}
    for arc, own in zip(attempt.sequence.arcs, attempt.found.arcs, strict=True):
        if arc.name in exposed:
            states = own.state_at(np.linspace(0.0, 1.0, 5000))[:, :7]
            peaks[arc.name] = float(heating_at(arc.kind, states).max())
    assert max(peaks.values()) < KEPT * BEARS
    assert peaks["second, bare"] == pytest.approx(BEARS, rel=6e-3), "it acts in the burn"
    assert peaks["coast 1"] == pytest.approx(BEARS, rel=6e-3), "and at the foot of the coast"


@pytest.mark.slow
@pytest.mark.parametrize("max_heating", [100.0, 3000.0])
def test_a_payload_that_bears_less_costs_propellant(max_heating: float) -> None:
    other, ascent = low_coast(max_heating).ascent, low_coast().ascent
    assert heat_after_the_drop(other).max() < KEPT * max_heating
    assert (other.propellant_used > ascent.propellant_used) == (max_heating < BEARS)


def test_what_the_payload_bears_has_the_partial_of_the_whole_way() -> None:
    """Of the drop and of all arcs after it, against solving again for a little more and less."""
    found = low_coast()
    case = Case(found.ascent.vehicle, PELICAN_POINT)
    variation = next(one for one in variations(case) if one.quantity == PAYLOAD_HEATING)
    difference = slope(lambda by: margin_of(variation.changed(by), found.attempt), 5.0)
    partial = found.ascent.partials[PAYLOAD_HEATING]
    assert partial.margin == pytest.approx(difference, rel=2e-2)
    assert partial.margin > 1e-3
    # The logarithm's price, of the drop and of the path, is the same number times the limit.
    assert price_of_heating(found.attempt.found) == pytest.approx(partial.margin * BEARS, rel=1e-2)


def test_an_ellipse_that_is_hot_at_its_foot_is_joined_higher_up() -> None:
    """A periapsis at 118 km heats by 1.7 kW/m2 where it would be joined with the fairing gone."""
    orbit = ao.EllipticalOrbit(periapsis_altitude=118 * km, apoapsis_altitude=600 * km)
    mission = replace(earth_mission(), limits=ao.FlightLimits(), orbit=orbit)
    ascent = ao.optimize(replace(vehicle(), fairing=FAIRING), mission)
    assert heat_after_the_drop(ascent).max() < KEPT * BEARS
    assert not ascent.certificate.beyond()
    assert ascent.events["insertion"].altitude > 119 * km


def test_where_an_orbit_is_hot_over_the_equator_the_fairing_may_be_worth_carrying() -> None:
    """In the thin high air of Mars the drop would have to wait, or the coast to be higher."""
    orbit = ao.CircularOrbit(altitude=130 * km)
    mission = replace(earth_mission(), body=ao.mars(), limits=ao.FlightLimits(), orbit=orbit)
    launcher = replace(vehicle(), fairing=FAIRING)
    assert fairing_may_stay_in_orbit(mission, FAIRING)
    assert not fairing_must_stay(mission, FAIRING)
    plan = FlightPlan(inserting_stage=1, coast_before=(1,))
    attempt = attempt_at(task_of(launcher, mission), plan)
    assert attempt.reached
    assert attempt.plan.fairing_arc is None
    assert not attempt.sequence.exposed


def test_a_strong_upper_stage_does_not_go_on_in_hot_air() -> None:
    """On the first mesh, both burns and the coast; the drop is no later than need be."""
    second = replace(
        vehicle().stages[1], engine=ao.Engine(vacuum_thrust=260 * kN, vacuum_isp=343.0), restarts=1
    )
    strong = replace(vehicle(), stages=(vehicle().stages[0], second), fairing=FAIRING)
    mission = replace(earth_mission(), limits=ao.FlightLimits())
    attempt = attempt_at(task_of(strong, mission), FlightPlan(inserting_stage=1, restarts=1))
    assert attempt.reached
    peak = max(
        float(heating_at(arc.kind, own.states[:, :7]).max())
        for arc, own in zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
        if arc.name in attempt.sequence.exposed
    )
    assert peak < KEPT * BEARS


@pytest.mark.slow
def test_a_later_drop_is_no_better_than_the_one_that_is_chosen() -> None:
    """In any arc, from any guess: the flight that stays cool is not left behind by them."""
    best = low_coast().attempt
    solver = task_of(TURNSTONE, PELICAN_POINT)
    chosen = attempt_at(solver, best.plan)
    for arc in ("first", "second", "coast 1", "second burn 2"):
        plan = replace(chosen.plan, fairing_arc=arc)
        other = FlownStart.flown(solver, plan, first_guess(plan), ()).solve()
        assert other.unspent < chosen.unspent + 1e-4 * TURNSTONE.propellant_mass


def test_an_orbit_that_is_hot_all_round_keeps_its_fairing() -> None:
    launcher = replace(vehicle(), fairing=FAIRING)
    mission = replace(earth_mission(), limits=ao.FlightLimits())
    low = replace(mission, orbit=ao.CircularOrbit(altitude=115 * km))
    ascent = ao.optimize(launcher, low)
    assert ascent.plan.fairing_arc is None
    assert ascent.events.rows[-1].mass_after > 1100.0 + 950.0 + 320.0
    assert "fairing drop" not in {event.name for event in ascent.events}
    assert not ascent.certificate.beyond()
    assert fairing_must_stay(replace(low, orbit=replace(low.orbit, inclination=20 * deg)), FAIRING)
    assert fairing_may_stay_in_orbit(low, FAIRING), (
        "a polar orbit would be 21 km higher above the poles"
    )
    assert not fairing_must_stay(mission, FAIRING)
    assert not fairing_must_stay(low, None)
    assert not fairing_may_stay_in_orbit(mission, FAIRING)
    oblong = ao.EllipticalOrbit(periapsis_altitude=115 * km, apoapsis_altitude=600 * km)
    assert not fairing_must_stay(replace(low, orbit=oblong), FAIRING)
    assert not fairing_must_stay(moon_mission(), FAIRING)
    # Retrograde air is faster, and hotter; higher above the ellipsoid it is thinner.
    border = [ao.CircularOrbit(altitude=134 * km, inclination=i * deg) for i in (20, 90, 160)]
    assert [fairing_must_stay(replace(low, orbit=one), FAIRING) for one in border] == [
        False,
        False,
        True,
    ]


def paths(launcher: ao.Vehicle, mission: ao.Mission, plan: FlightPlan) -> list[str]:
    """Names of what is limited along the arcs."""
    sequence = sequence_of(launcher, mission, plan)
    flight = Transcription(
        vehicle=launcher,
        mission=mission,
        sequence=sequence,
        meshes=(RadauMesh.uniform(intervals=2, degree=3),) * len(sequence.arcs),
        limited_arcs=frozenset(),
    )
    return [q.name for arc in flight.greatest_mass_problem().arcs for q in arc.model.path]


def test_without_a_fairing_or_air_nothing_is_limited() -> None:
    name = "log heating of the payload"
    carrying = replace(vehicle(), fairing=FAIRING)
    drop = FlightPlan(inserting_stage=1, fairing_arc="second")
    assert name in paths(carrying, earth_mission(), drop)
    assert name not in paths(vehicle(), earth_mission(), direct(vehicle()))
    assert name not in paths(carrying, replace(earth_mission(), body=ao.moon()), drop)
    assert name not in paths(carrying, earth_mission(), direct(carrying)), "the fairing is on"


def test_the_certificate_sees_a_payload_that_is_too_hot() -> None:
    found = low_coast()
    flight = ao.fly(found.ascent.vehicle, PELICAN_POINT, found.ascent.steering)
    kept = certify(found.attempt, flight, ao.FlightLimits.none(), BEARS)
    assert not kept.beyond()
    assert abs(kept.limit_excess) < 0.01
    hot = certify(found.attempt, flight, ao.FlightLimits.none(), 0.5 * BEARS)
    assert hot.beyond() == ("limit_excess",)
    assert hot.limit_excess == pytest.approx(1.0, abs=0.02)


def test_a_burn_of_no_length_has_no_direction_to_certify() -> None:
    """The drop may shrink the piece of a burn before it to nothing, or below by rounding."""
    found = low_coast()
    flight = ao.fly(found.ascent.vehicle, PELICAN_POINT, found.ascent.steering)
    *others, last = found.attempt.found.arcs
    turned = replace(last, controls=-last.controls)
    assert primer_angle(turned) > 3.0
    for length, seen in ((-1e-5, False), (last.duration, True)):
        times = turned.times[0] + np.linspace(0.0, length, len(turned.times))
        solution = replace(found.attempt.found, arcs=(*others, replace(turned, times=times)))
        told = certify(replace(found.attempt, solution=solution), flight, PELICAN_POINT.limits)
        assert ("primer_angle" in told.beyond()) == seen
