"""Partials from the multipliers against solving again with a little more and a little less."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.collocation import SolverSettings, solve
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case, variations
from ascentopt.optimal.problem.phase_model import arcs_in_elements
from ascentopt.optimal.problem.transcription import Transcription
from ascentopt.optimal.result.partials import partials_of
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.units import STANDARD_GRAVITY, deg, km, kN, kPa
from tests.optimal.launchers import earth_mission, four_phase_launcher, four_phase_mission
from tests.optimal.problem.test_limits import vehicle


def four_phases() -> Case:
    return Case(four_phase_launcher(), four_phase_mission())


def inclined() -> Case:
    """Limits on q and q-alpha that act, a fairing, a fixed inclination."""
    orbit = ao.CircularOrbit(altitude=300 * km, inclination=60 * deg)
    mission = replace(earth_mission(dynamic_pressure=40 * kPa), orbit=orbit)
    return Case(replace(vehicle(), fairing=ao.Fairing(mass=320.0)), mission)


def throttled() -> Case:
    """Limits on angle of attack and acceleration that act, two on dynamic pressure that do not."""
    limits = {
        "dynamic_pressure": 60 * kPa,
        "staging_dynamic_pressure": 2 * kPa,
        "angle_of_attack": 4 * deg,
        "axial_acceleration": 4 * STANDARD_GRAVITY,
    }
    return Case(vehicle(min_throttle=0.5), earth_mission(**limits))


def turning() -> Case:
    return Case(vehicle(), earth_mission(pitch_rate=0.5 * deg, q_alpha=None))


def with_solids() -> Case:
    """Two solid motors with a curve beside the first stage."""
    motor = ao.SolidMotor(
        time=(0.0, 10.0, 40.0, 70.0),
        vacuum_thrust=(180 * kN, 220 * kN, 200 * kN, 150 * kN),
        vacuum_isp=270.0,
        sea_level_isp=240.0,
    )
    pair = ao.BoosterGroup(
        name="pair", count=2, propellant_mass=motor.propellant_mass, dry_mass=900.0, engine=motor
    )
    return Case(replace(vehicle(), boosters=(pair,)), earth_mission(q_alpha=None))


def pressed() -> Case:
    """A first stage that throttles for two limits: the throttle jumps, ramps and bends."""
    limits = {"dynamic_pressure": 35 * kPa, "axial_acceleration": 4 * STANDARD_GRAVITY}
    return Case(vehicle(min_throttle=0.5), earth_mission(**limits))


@cache
def solved(make: Callable[[], Case]) -> tuple[Case, Attempt]:
    return solved_anew(make())


def solved_anew(case: Case) -> tuple[Case, Attempt]:
    """Partials are of the very vehicle that was solved, to the last bit."""
    solver = task_of(case.vehicle, case.mission)
    attempt = attempt_at(solver, next(iter(plans(case.vehicle, case.mission))))
    own = replace(case, vehicle=solver.vehicle)
    return own, refine_mesh(solver, impose_limits(solver, attempt))


def margin_of(case: Case, near: Attempt) -> float:
    """Propellant left when the case is solved anew on the meshes of a neighbour, kg."""
    sequence = sequence_of(case.vehicle, case.mission, near.plan)
    transcription = Transcription(
        vehicle=case.vehicle,
        mission=case.mission,
        sequence=sequence,
        meshes=tuple(own.arc.mesh for own in near.found.arcs),
        in_elements=arcs_in_elements(near.found),
        limited_arcs=near.limited_arcs,
        needs_ground_clearance=near.needs_ground_clearance,
    )
    found = solve(transcription.greatest_mass_problem(), near.found, SolverSettings(tolerance=1e-9))
    return found.objective - sequence.arcs[-1].least_mass


STEPS = {"km": 2.0, "0.001": 0.5, "deg": 0.1, "kg": 5.0, "s": 0.5, "%": 0.2, "kPa": 0.2,
         "kPa deg": 1.0, "W/m^2": 20.0, "m": 5.0, "g": 0.01, "deg/s": 0.01}  # fmt: skip
"""Units either way; the angle of attack, of which 4 degrees are allowed, takes a tenth of its."""

WORTH = 1e-3
"""kg per unit: what the finite differences resolve."""

CASES = (four_phases, inclined, throttled, turning, with_solids, pressed)
WITH_PARTIALS = [
    pytest.param(make, variation.quantity, id=f"{make.__name__}-{variation.quantity}")
    for make in CASES
    for variation in variations(make())
]


@pytest.mark.parametrize(("make", "quantity"), WITH_PARTIALS)
def test_a_partial_is_the_difference_of_two_optima(make: Callable[[], Case], quantity: str) -> None:
    case, attempt = solved(make)
    partials = partials_of(case, attempt)
    if quantity in {one.quantity for one in partials.missing}:
        assert quantity.startswith("six: ")  # they end when the three are lit
        return
    variation = next(one for one in variations(case) if one.quantity == quantity)
    step = STEPS[variation.unit] * (0.1 if "angle" in quantity else 1.0)
    difference = slope(lambda by: margin_of(variation.changed(by), attempt), step)
    assert partials[quantity].margin == pytest.approx(difference, rel=1e-2, abs=WORTH)


def slope(value: Callable[[float], float], step: float) -> float:
    """Central difference; where less is refused, the one-sided one of second order.

    An inclination of the site's own latitude may not shrink, and bends within a tenth of a degree.
    """
    try:
        return (value(step) - value(-step)) / (2.0 * step)
    except ao.InputError:
        near, far = value(0.5 * step), value(step)
        return (4.0 * near - 3.0 * value(0.0) - far) / step


def test_a_limit_that_does_not_act_is_free() -> None:
    partials = partials_of(*solved(throttled))
    assert partials["limit on dynamic pressure"].propellant == 0.0
    assert partials["limit on staging dynamic pressure"].propellant == 0.0
    assert partials["limit on angle of attack"].propellant < -1.0


def test_used_and_left_add_up_to_what_is_loaded() -> None:
    partials = partials_of(*solved(inclined))
    for partial in partials:
        loaded = 1.0 if "propellant" in partial.quantity else 0.0
        assert partial.propellant + partial.margin == pytest.approx(loaded, abs=1e-6)


def test_a_number_without_a_partial_says_why() -> None:
    partials = partials_of(*solved(four_phases))
    with pytest.raises(KeyError, match=r"six: thrust.*another sequence of arcs"):
        partials["six: thrust of each of 6"]
    with pytest.raises(KeyError, match=r"there are .*'payload'"):
        partials["paint"]
    free = partials_of(*solved(turning))
    assert "inclination: it is free" in str(free)


@pytest.mark.slow
def test_the_main_job_carries_them_and_they_survive_the_file(tmp_path: Path) -> None:
    """Solved from the start, guess, limits and refinement included."""
    case = inclined()
    ascent = ao.optimize(case.vehicle, case.mission)
    heavier = ao.optimize(replace(case.vehicle, payload_mass=1105.0), case.mission)
    used = (heavier.propellant_used - ascent.propellant_used) / 5.0
    assert ascent.partials["payload"].propellant == pytest.approx(used, rel=1e-2)
    ascent.save(tmp_path / "ascent.json")
    assert ao.Ascent.load(tmp_path / "ascent.json").partials == ascent.partials


def test_a_file_that_calls_them_prices_loads_alone_and_within_a_comparison(tmp_path: Path) -> None:
    case = four_phases()
    ascent = ao.optimize(case.vehicle, case.mission)
    ascent.save(tmp_path / "ascent.json")
    text = (tmp_path / "ascent.json").read_text(encoding="utf-8")
    for now, then in (("partials", "prices"), ("Partial", "Price")):
        text = text.replace(now, then)
    old = json.loads(text)
    del old["checksum"], old["library"]
    (tmp_path / "old.json").write_text(json.dumps(old | {"version": 2}), encoding="utf-8")
    assert "partials" not in old
    assert ao.Ascent.load(tmp_path / "old.json").partials == ascent.partials
    fields = {name: value for name, value in old.items() if name not in ("form", "version")}
    within = persistence.decode(
        {"type": "ascentopt.optimal.result.ascent:Ascent", "fields": fields}
    )
    assert within.partials == ascent.partials


def test_a_file_of_the_version_before_partials_loads_without_them(tmp_path: Path) -> None:
    case = four_phases()
    ascent = ao.optimize(case.vehicle, case.mission)
    ascent.save(tmp_path / "ascent.json")
    data = persistence.read(tmp_path / "ascent.json")
    del data["partials"]
    persistence.write(tmp_path / "old.json", data | {"version": 1})
    assert len(ao.Ascent.load(tmp_path / "old.json").partials) == 0
    assert "before partials were kept" in str(ao.Ascent.load(tmp_path / "old.json").partials)
