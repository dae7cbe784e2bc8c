"""A vehicle that has more than it needs: an earlier stage inserts, those above are never lit."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.bounds.inserting_stages import (
    delta_v_carrying_upper_stages,
    inserting_stages,
    inserting_stages_in_turn,
)
from ascentopt.optimal.moves.empty_arcs import BRIEFEST
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.structure.enumeration import plans, structures_without_load_limits
from ascentopt.report.flown import Flown
from ascentopt.units import deg, km, kN, tonne
from tests.optimal.launchers import earth_mission, moon_mission
from tests.optimal.structure.launches import a_second_stage_just_too_weak
from tests.optimal.structure.test_structures import no_restart


def ferry(propellant: float = 6.0 * tonne) -> ao.Vehicle:
    """Two stages of which the first may reach an orbit of the Moon alone."""
    lower = ao.Stage(
        name="lower", propellant_mass=propellant, dry_mass=1.1 * tonne, restarts=1,
        engine=ao.Engine(vacuum_thrust=45 * kN, vacuum_isp=320.0),
    )  # fmt: skip
    upper = ao.Stage(
        name="upper", propellant_mass=0.9 * tonne, dry_mass=0.2 * tonne,
        engine=ao.Engine(vacuum_thrust=6 * kN, vacuum_isp=315.0),
    )  # fmt: skip
    return ao.Vehicle(name="Ferry", payload_mass=0.8 * tonne, stages=(lower, upper))


@pytest.fixture(scope="module")
def saved() -> ao.Ascent:
    return ao.optimize(ferry(), moon_mission())


def test_the_first_stage_inserts_and_says_so(saved: ao.Ascent) -> None:
    best, beaten, *skipped = saved.candidates
    assert str(best.plan) == "burn, coast, burn by stage 1"
    assert str(beaten.plan) == "direct insertion by stage 1"
    assert [str(one.plan) for one in skipped] == [
        "direct insertion",
        "direct insertion, coast before stage 2",
        "direct insertion, coast before stage 2, stage 1 cut off early",
    ]
    assert all(one.standing is Standing.SKIPPED for one in skipped)
    assert all(one.history for one in skipped)  # the reason
    # What a later stage would have burned or dropped before it is lit.
    assert saved.propellant_margin > saved.vehicle.stages[1].propellant_mass
    assert saved.certificate.verdict is Verdict.CERTIFIED


def test_what_is_never_burned_counts_as_left(saved: ao.Ascent) -> None:
    """Used is what left the vehicle through its engines; nothing is dropped on the way."""
    vehicle = ferry()
    assert saved.propellant_used == pytest.approx(vehicle.lift_off_mass - saved.final_mass)
    assert saved.propellant_used + saved.propellant_margin == pytest.approx(vehicle.propellant_mass)
    assert saved.propellant_margin > vehicle.stages[1].propellant_mass
    assert Flown.of(saved).propellant_used == pytest.approx(saved.propellant_used, abs=0.1)
    assert Flown.of(saved).propellant_left == pytest.approx(
        saved.propellant_margin - vehicle.stages[1].propellant_mass, abs=0.1
    )


def test_it_is_the_ascent_with_the_upper_stage_as_payload(saved: ao.Ascent) -> None:
    carried = ferry().with_payload_above(0)
    assert carried.lift_off_mass == ferry().lift_off_mass
    assert len(carried.stages) == 1
    alone = ao.optimize(carried, moon_mission())
    assert alone.propellant_used == pytest.approx(saved.propellant_used, rel=1e-7)


def test_the_last_stage_would_use_more() -> None:
    """Insertion by the last stage burns all of the first, wherever that takes it."""
    solver = task_of(ferry(4.1 * tonne), moon_mission())
    last, first = (attempt_at(solver, direct(solver.vehicle, stage)) for stage in (1, 0))
    assert last.reached
    assert first.reached
    assert last.unspent < solver.vehicle.stages[1].propellant_mass < first.unspent


def test_flying_saving_and_the_events_know_the_structure(saved: ao.Ascent, tmp_path: Path) -> None:
    flight = ao.fly(ferry(), moon_mission(), saved.steering)
    assert flight.final_state[6] == pytest.approx(saved.final_mass, abs=0.05)
    names = [row.name for row in saved.events]
    assert names[-1] == "insertion"
    assert not any("separation" in name or "upper" in name for name in names)
    assert abs(saved.budget.closing_error) < 1e-3
    saved.save(tmp_path / "ascent.json")
    assert str(ao.Ascent.load(tmp_path / "ascent.json")) == str(saved)


def test_partials_know_what_is_dead_weight(saved: ao.Ascent) -> None:
    partials = saved.partials
    assert partials["upper: vacuum Isp"].propellant == pytest.approx(0.0, abs=1e-6)
    for dead in ("upper: propellant", "upper: dry mass"):
        assert partials[dead].propellant == pytest.approx(partials["payload"].propellant, rel=1e-6)
    more = partials["upper: propellant"]
    assert more.margin == pytest.approx(1.0 - more.propellant, rel=1e-6)


def test_rules_of_thumb_and_simpler_programmes_fly_the_same_structure(saved: ao.Ascent) -> None:
    table = ao.compare(saved.vehicle, saved.mission, ascent=saved)
    penalties = [one.penalty for one in table.outcomes if one.penalty is not None]
    assert penalties
    assert all(0.0 < penalty < 0.3 * saved.propellant_used for penalty in penalties)
    simpler = ao.simplify(saved, knots=3)
    assert 0.0 <= simpler.penalty < 1e-3 * saved.propellant_used


@pytest.mark.slow
def test_a_stage_that_falls_short_leaves_the_orbit_to_the_next() -> None:
    """2.25 t are enough for two impulses, but not for a burn that takes minutes."""
    vehicle = ferry(2.25 * tonne)
    assert list(inserting_stages(vehicle, moon_mission())) == [0, 1]
    ascent = ao.optimize(vehicle, moon_mission())
    short = [c for c in ascent.candidates if c.plan.inserting_stage == 0]
    assert ascent.plan.inserting_stage == 1
    assert Standing.SHORT in {c.standing for c in short}
    assert all(c.propellant_used is None for c in short)
    assert ascent.propellant_used > vehicle.stages[0].propellant_mass


@pytest.mark.slow
def test_what_the_last_stage_uses_tells_that_an_earlier_one_falls_short() -> None:
    """It has the impulses' delta-v, and nothing for what an ascent through air loses."""
    told = a_second_stage_just_too_weak()
    assert list(inserting_stages(told.vehicle, told.mission)) == [1, 2]
    assert inserting_stages_in_turn(told.vehicle, told.mission) == [2, 1]
    ascent = told.optimum()
    earlier = [c for c in ascent.candidates if c.plan.inserting_stage == 1]
    assert earlier
    assert all(one.standing is Standing.SKIPPED for one in earlier)
    assert all(one.history for one in earlier)  # the reason
    assert delta_v_carrying_upper_stages(told.vehicle, 1) < 0.95 * ascent.budget.ideal
    short = attempt_at(task_of(told.vehicle, told.mission), direct(told.vehicle, 1))
    assert short.shortfall is not None
    assert short.shortfall > 500.0


@pytest.mark.slow
def test_an_ascent_without_the_coast_that_it_wants_tells_nothing_of_earlier_stages() -> None:
    """The last stage finds no flight with a coast, and without one uses 500 m/s too much."""
    vehicle = ferry(2.4 * tonne)
    assert inserting_stages_in_turn(vehicle, moon_mission()) == [0, 1]
    ascent = ao.optimize(vehicle, moon_mission())
    assert ascent.plan.inserting_stage == 0
    solver = task_of(vehicle, moon_mission())
    last = list(structures_without_load_limits(solver, [], 1))
    earlier = list(structures_without_load_limits(solver, last, 0))
    assert not any(one.skipped for one in earlier)


def test_an_earlier_stage_is_not_offered_where_it_cannot_reach_the_orbit() -> None:
    assert list(inserting_stages(no_restart(), earth_mission())) == [1]


def test_a_stage_that_cannot_keep_the_reserve_does_not_insert() -> None:
    """The way home asks for a restart, the lower stage has one, the ascent may then not take it."""
    home = replace(moon_mission(), reserve=ao.DeorbitReserve(periapsis_altitude=-10.0 * km))
    once = replace(ferry().stages[0], restarts=0)
    upper = replace(ferry().stages[1], restarts=1)
    assert list(inserting_stages(ferry(), home)) == [0, 1]
    assert list(inserting_stages(replace(ferry(), stages=(once, upper)), home)) == [1]
    assert all(plan.restarts == 0 for plan in plans(ferry(), home))


@pytest.mark.slow
def test_the_heaviest_payload_takes_all_stages() -> None:
    found = ao.max_payload(ferry(), moon_mission())
    assert found.ascent.plan.inserting_stage == 1
    assert found.payload > 4.0 * tonne
    assert found.held_by.kind is ao.HeldBy.TANK


def test_a_plan_that_leaves_the_wrong_number_unlit_is_refused() -> None:
    with pytest.raises(ao.InputError, match="unlit is 2"):
        ao.FlightPlan(inserting_stage=0, unlit=2).check(ferry())


WHEATEAR = ao.Vehicle(
    name="Wheatear",
    payload_mass=234.0,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=4809.0,
            dry_mass=416.0,
            restarts=1,
            engine=ao.Engine(vacuum_thrust=206.6 * kN, vacuum_isp=306.3, sea_level_isp=275.7),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=1335.0,
            dry_mass=170.0,
            restarts=1,
            ignition_delay=1.6,
            engine=ao.Engine(vacuum_thrust=22.4 * kN, vacuum_isp=326.5),
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.55, drag_coefficient=0.4),
)
"""Lifts off with three times its weight; its first stage has what the orbit takes."""

COBBLE = ao.Body(
    name="Cobble",
    gravitational_parameter=9.3 * (721.57 * km) ** 2,
    radius=721.57 * km,
    rotation_rate=2e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=1.25,
        scale_height=5.33 * km,
        ceiling=63.94 * km,
        surface_temperature=288.15,
    ),
)

OVER_COBBLE = ao.Mission(
    body=COBBLE,
    site=ao.LaunchSite(latitude=4.5 * deg, altitude=60.0),
    orbit=ao.CircularOrbit(altitude=83.66 * km),
)


@pytest.mark.slow
def test_the_stage_below_inserts_where_the_last_would_burn_for_nothing() -> None:
    ascent = ao.optimize(WHEATEAR, OVER_COBBLE)
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert str(ascent.plan) == "burn, coast, burn by stage 1"
    assert all(arc.times[-1] - arc.times[0] > BRIEFEST for arc in ascent.trajectory.arcs)
