"""An ascent solved from its neighbour is the one that is found from nothing."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Refinement, SolverSettings
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.problem.violations import without_load_limits
from ascentopt.optimal.result.answer import candidate_of
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.solve.neighbour import solve_from_neighbour
from ascentopt.optimal.task import Task
from ascentopt.units import km, tonne
from tests.optimal.launchers import lander, moon_mission

SAME = 2e-6
"""Share of the propellant within which two searches find the same optimum; meshes differ."""


@pytest.fixture(scope="module")
def lit() -> ao.Ascent:
    return ao.optimize(lander(), moon_mission())


def by_scenario(name: str, payload: float) -> tuple[ao.Vehicle, ao.Mission]:
    scenario = next(one for one in ao.scenarios().values() if one.name == name)
    vehicle = scenario.vehicle
    return replace(vehicle, payload_mass=payload * vehicle.payload_mass), scenario.mission


def hold_alike(near: ao.Ascent, new: ao.Ascent) -> None:
    least = SAME * new.vehicle.propellant_mass
    assert near.propellant_used == pytest.approx(new.propellant_used, abs=least)
    assert near.certificate.verdict is new.certificate.verdict is Verdict.CERTIFIED
    assert near.plan == new.plan


@pytest.mark.parametrize("share", [0.9, 0.99, 1.01, 1.2])
def test_a_neighbour_by_payload_is_the_optimum(lit: ao.Ascent, share: float) -> None:
    vehicle = replace(lander(), payload_mass=share * lander().payload_mass)
    near = ao.optimize(vehicle, moon_mission(), near=lit)
    hold_alike(near, ao.optimize(vehicle, moon_mission()))


def test_a_neighbour_by_orbit_is_the_optimum(lit: ao.Ascent) -> None:
    mission = moon_mission()
    assert isinstance(mission.orbit, ao.CircularOrbit)
    higher = replace(mission, orbit=ao.CircularOrbit(altitude=mission.orbit.altitude + 5 * km))
    hold_alike(ao.optimize(lander(), higher, near=lit), ao.optimize(lander(), higher))


def test_a_whole_number_is_a_number_like_any_other(lit: ao.Ascent) -> None:
    """An impulse may be written 320 or 321.5; how often an engine can be lit is a count."""
    stage = lander().stages[0]
    assert isinstance(stage.engine, ao.Engine)
    isp = round(stage.engine.vacuum_isp)

    def flown_with(vacuum_isp: float, restarts: int) -> ao.Vehicle:
        engine = replace(stage.engine, vacuum_isp=vacuum_isp)
        return replace(lander(), stages=(replace(stage, engine=engine, restarts=restarts),))

    whole = ao.optimize(flown_with(isp, stage.restarts), moon_mission())
    told = []
    for vacuum_isp, restarts in ((isp + 1, 0), (isp + 0.5, 0), (isp, 1)):
        vehicle = flown_with(vacuum_isp, stage.restarts + restarts)
        near = ao.optimize(vehicle, moon_mission(), near=whole)
        new = ao.optimize(vehicle, moon_mission())
        told.append(len(near.candidates[0].history) < len(new.candidates[0].history))
        least = SAME * vehicle.propellant_mass
        assert near.propellant_used == pytest.approx(new.propellant_used, abs=least)
    assert told == [True, True, False]


def test_a_saved_neighbour_is_as_good_as_one_at_hand(lit: ao.Ascent, tmp_path: Path) -> None:
    lit.save(tmp_path / "lit.json")
    loaded = ao.Ascent.load(tmp_path / "lit.json")
    vehicle = replace(lander(), payload_mass=1.01 * lander().payload_mass)
    near, again = (ao.optimize(vehicle, moon_mission(), near=one) for one in (lit, loaded))
    assert near == again


def test_the_kept_solution_is_the_solution(lit: ao.Ascent) -> None:
    kept = lit.solved_program
    assert kept is not None
    found = kept.attempt(lit.vehicle, lit.mission).found
    assert max(found.residuals.primal, found.residuals.dual) < 1e-5
    assert found.objective == pytest.approx(lit.final_mass, abs=1e-6)


def in_steps(payloads: list[float]) -> list[ao.Ascent]:
    near = ao.optimize(*by_scenario("marble-thick-air", payloads[0]))
    found = [near]
    for payload in payloads[1:]:
        found.append(ao.optimize(*by_scenario("marble-thick-air", payload), near=found[-1]))
    return found


@pytest.mark.parametrize(
    "payloads",
    [
        pytest.param([1.0, 0.3], marks=pytest.mark.slow),
        pytest.param([1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3], marks=pytest.mark.slow),
    ],
)
def test_another_structure_that_becomes_better_is_found(payloads: list[float]) -> None:
    """In thick air a light payload is worth a coast before the second stage, a heavy one not."""
    first, *_, last = in_steps(payloads)
    assert first.plan.coast_before == ()
    assert last.plan.coast_before == (1,)
    hold_alike(last, ao.optimize(*by_scenario("marble-thick-air", payloads[-1])))


@pytest.mark.slow
def test_a_structure_that_is_as_good_stays() -> None:
    """By what another burn must be worth the coast before the second stage costs nothing."""
    *_, last = in_steps([0.3, 0.6, 0.9])
    new = ao.optimize(*by_scenario("marble-thick-air", 0.9))
    least = 1e-5 * new.vehicle.propellant_mass
    assert last.propellant_used == pytest.approx(new.propellant_used, abs=least)
    assert last.certificate.verdict is Verdict.CERTIFIED


def test_what_stays_beaten_says_by_what(lit: ao.Ascent) -> None:
    vehicle = replace(lander(), payload_mass=1.001 * lander().payload_mass)
    near = ao.optimize(vehicle, moon_mission(), near=lit)
    beaten = [one for one in near.candidates[1:] if one.standing is Standing.BEATEN]
    assert beaten
    for one in beaten:
        assert one.propellant_used is not None
        assert one.propellant_used > near.propellant_used
    census = near.certificate.structures
    assert census is not None
    assert any("in a neighbouring case" in line for line in census.left_out)


def test_what_does_not_fly_is_refused_as_without_a_neighbour(lit: ao.Ascent) -> None:
    heavy = replace(lander(), payload_mass=6.0 * tonne)
    with pytest.raises(ao.InfeasibleAscent) as without:
        ao.optimize(heavy, moon_mission())
    with pytest.raises(ao.InfeasibleAscent) as near:
        ao.optimize(heavy, moon_mission(), near=lit)
    assert near.value.shortfall == pytest.approx(without.value.shortfall, rel=1e-6)


@pytest.mark.slow
def test_a_limit_that_was_not_there_is_kept(lit: ao.Ascent) -> None:
    peak = float(np.nanmax(lit.trajectory.axial_acceleration))
    limits = replace(moon_mission().limits, axial_acceleration=0.8 * peak)
    held = replace(moon_mission(), limits=limits)
    stage = lander().stages[0]
    assert isinstance(stage.engine, ao.Engine)
    own = replace(stage, engine=replace(stage.engine, min_throttle=0.4))
    throttled = replace(lander(), stages=(own,))
    first = ao.optimize(throttled, moon_mission())
    near = ao.optimize(throttled, held, near=first)
    hold_alike(near, ao.optimize(throttled, held))
    assert "more than numbers" in near.candidates[0].history[0]


def test_the_neighbour_of_a_flight_that_waited_for_its_node() -> None:
    mission = ao.scenarios()["mars-two-stages"].mission
    vehicle = ao.scenarios()["mars-two-stages"].vehicle
    tilted = replace(
        mission,
        orbit=replace(mission.orbit, inclination=0.9, ascending_node=1.0),
        lift_off_time=None,
    )
    there = ao.optimize(vehicle, tilted)
    heavier = replace(vehicle, payload_mass=1.01 * vehicle.payload_mass)
    near, new = ao.optimize(heavier, tilted, near=there), ao.optimize(heavier, tilted)
    hold_alike(near, new)
    assert near.mission.lift_off_time == pytest.approx(new.mission.lift_off_time, abs=0.1)


def test_an_ascent_of_an_older_version_is_refused_as_a_neighbour(lit: ao.Ascent) -> None:
    with pytest.raises(ao.InputError, match=r"near .* without its solution"):
        ao.optimize(lander(), moon_mission(), near=replace(lit, solved_program=None))


def test_a_damaged_solution_is_no_neighbour(lit: ao.Ascent) -> None:
    kept = lit.solved_program
    assert kept is not None
    short = replace(lit, solved_program=replace(kept, variables=kept.variables[:-1]))
    with pytest.raises(ao.InputError, match="kept solution has"):
        ao.optimize(lander(), moon_mission(), near=short)


@pytest.mark.parametrize("share", [0.98, 1.03])
def test_what_a_structure_is_foretold_to_use_it_uses_at_least(share: float) -> None:
    vehicle, mission = by_scenario("earth-small", 1.0)
    first = ao.optimize(vehicle, mission)
    other = replace(vehicle, payload_mass=share * vehicle.payload_mass)
    near = ao.optimize(other, mission, near=first)
    told = [one for one in near.candidates if one.history[-1].startswith("foretold")]
    assert told
    finer = first.solved_program.finer if first.solved_program else 0.0
    for one in told:
        kept = one.solved_program
        assert kept is not None
        bare = replace(mission, limits=without_load_limits(mission.limits))
        there = bare if kept.asks_no_limits else mission
        task = Task(
            vehicle=other, mission=there, settings=SolverSettings(), refinement=Refinement()
        )
        solved = solve_from_neighbour(task, kept.attempt(vehicle, mission))
        used = candidate_of(other, solved, best=False).propellant_used
        assert used is not None
        assert one.propellant_used is not None
        assert one.propellant_used <= used + max(finer, 0.0) + SAME * vehicle.propellant_mass
        assert one.propellant_used == pytest.approx(used, abs=1e-4 * vehicle.propellant_mass)
