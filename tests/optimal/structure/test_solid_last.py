"""A solid motor reaches the orbit: it burns to its end, and the stage below is cut off in time."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.report.flown import Flown
from ascentopt.units import km, kN, tonne
from tests.optimal.launchers import earth_mission, moon_mission

BURN = 72.0


def _motor(*thrust: float) -> ao.SolidMotor:
    return ao.SolidMotor(
        time=(0.0, 2.0, 40.0, 70.0, BURN),
        vacuum_thrust=tuple(value * kN for value in thrust),
        vacuum_isp=288.0,
    )


def kicker(payload: float = 450.0) -> ao.Vehicle:
    """A liquid stage under a solid one, for an airless moon."""
    motor = _motor(11.0, 14.0, 15.0, 12.0, 2.0)
    first = ao.Stage(
        name="first", propellant_mass=2.0 * tonne, dry_mass=0.4 * tonne,
        engine=ao.Engine(vacuum_thrust=14 * kN, vacuum_isp=310.0),
    )  # fmt: skip
    kick = ao.Stage(name="kick", propellant_mass=motor.propellant_mass, dry_mass=40.0, engine=motor)
    return ao.Vehicle(name="Kicker", payload_mass=payload, stages=(first, kick))


@pytest.fixture(scope="module")
def kicked() -> ao.Ascent:
    return ao.optimize(kicker(), moon_mission())


def test_the_motor_burns_to_its_end_after_a_coast(kicked: ao.Ascent) -> None:
    assert kicked.certificate.verdict is Verdict.CERTIFIED
    events = {row.name: row.time for row in kicked.events}
    assert events["insertion"] - events["kick ignition"] == pytest.approx(BURN, abs=1e-6)
    assert events["kick ignition"] - events["first separation"] > 10.0
    assert kicked.final_mass == pytest.approx(450.0 + 40.0)


def test_what_counts_is_what_the_stage_below_has_left(kicked: ao.Ascent) -> None:
    cut_off = kicked.events["first separation"].mass_before
    empty = kicker().lift_off_mass - 2.0 * tonne
    assert kicked.propellant_margin == pytest.approx(cut_off - empty, abs=0.05)
    assert kicked.propellant_margin > 100.0
    whole = kicked.propellant_used + kicked.propellant_margin
    assert whole == pytest.approx(kicker().propellant_mass)
    assert Flown.of(kicked).propellant_left == pytest.approx(kicked.propellant_margin, abs=0.05)


def test_the_flight_of_the_answer_is_the_circle(kicked: ao.Ascent, tmp_path: Path) -> None:
    flight = ao.fly(kicker(), moon_mission(), kicked.steering)
    position, velocity = flight.final_state[:3], flight.final_state[3:6]
    radius = ao.moon().radius + 100 * km
    assert float(np.linalg.norm(position)) == pytest.approx(radius, abs=10.0)
    circular = np.sqrt(ao.moon().gravitational_parameter / radius)
    assert float(np.linalg.norm(velocity)) == pytest.approx(circular, abs=0.01)
    kicked.save(tmp_path / "ascent.json")
    assert str(ao.Ascent.load(tmp_path / "ascent.json")) == str(kicked)


def test_its_partials_are_what_solving_again_says(kicked: ao.Ascent) -> None:
    heavier = ao.optimize(kicker(452.0), moon_mission())
    slope = (heavier.propellant_used - kicked.propellant_used) / 2.0
    assert kicked.partials["payload"].propellant == pytest.approx(slope, rel=0.01)
    assert kicked.partials["payload"].margin == pytest.approx(-slope, rel=0.01)


@pytest.mark.slow
def test_on_earth_with_a_fairing_and_a_stage_more() -> None:
    """Three stages to 500 km, within the limits on dynamic pressure and q alpha."""
    motor = _motor(55.0, 70.0, 75.0, 60.0, 8.0)
    mass = motor.propellant_mass
    stages = (
        ao.Stage(name="first", propellant_mass=40 * tonne, dry_mass=3.5 * tonne,
                 engine=ao.Engine(vacuum_thrust=880 * kN, vacuum_isp=310.0, sea_level_isp=280.0)),
        ao.Stage(name="second", propellant_mass=9 * tonne, dry_mass=0.9 * tonne,
                 engine=ao.Engine(vacuum_thrust=150 * kN, vacuum_isp=335.0)),
        ao.Stage(name="kick", propellant_mass=mass, dry_mass=0.12 * mass, engine=motor),
    )  # fmt: skip
    vehicle = ao.Vehicle(
        name="Kicker", payload_mass=450.0, stages=stages, fairing=ao.Fairing(mass=150.0),
        aerodynamics=ao.Aerodynamics(reference_area=3.0, drag_coefficient=0.35),
    )  # fmt: skip
    mission = replace(earth_mission(), orbit=ao.CircularOrbit(altitude=500 * km))
    ascent = ao.optimize(vehicle, mission)
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert ascent.plan.coast_before == (2,)
    assert "fairing drop" in [row.name for row in ascent.events]


def test_too_heavy_a_payload_is_refused_with_what_would_fly() -> None:
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(kicker(2400.0), moon_mission())
    shortfall, diagnosis = refusal.value.shortfall, refusal.value.diagnosis
    assert shortfall is not None
    assert shortfall > 10.0
    assert diagnosis is not None
    assert diagnosis.payload is not None
    assert ao.optimize(kicker(diagnosis.payload), moon_mission()).propellant_margin < 50.0


def test_a_motor_may_save_more_than_a_stage_that_could_do_without_it() -> None:
    """The stage below reaches the orbit alone, but has to burn more for that."""
    first, kick = kicker().stages
    large = replace(
        first,
        propellant_mass=3.2 * tonne,
        engine=ao.Engine(vacuum_thrust=25 * kN, vacuum_isp=310.0),
    )
    ascent = ao.optimize(replace(kicker(), stages=(large, kick)), moon_mission())
    _, other = ascent.candidates
    assert ascent.plan.inserting_stage == 1
    assert other.plan.inserting_stage == 0
    assert other.propellant_used is not None
    assert ascent.propellant_used < other.propellant_used


def test_no_reserve_can_be_asked_for() -> None:
    kept = replace(moon_mission(), reserve=ao.PropellantReserve(mass=10.0))
    with pytest.raises(ao.InputError, match="burns to its end"):
        ao.optimize(kicker(), kept)
