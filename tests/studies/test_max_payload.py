"""The greatest payload flies, and one per cent more does not."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.units import kN, kPa, tonne
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import (
    earth_mission,
    four_phase_launcher,
    four_phase_mission,
    lander,
    moon_mission,
)


def flies(vehicle: ao.Vehicle, mission: ao.Mission, payload: float) -> bool:
    try:
        ao.optimize(replace(vehicle, payload_mass=payload), mission)
    except ao.InfeasibleAscent:
        return False
    return True


@pytest.fixture(scope="module")
def found() -> ao.MaxPayload:
    return ao.max_payload(four_phase_launcher(), four_phase_mission())


def test_it_leaves_next_to_nothing(found: ao.MaxPayload) -> None:
    assert 0.0 <= found.surplus < 1.0
    assert found.surplus == found.ascent.propellant_margin
    assert found.ascent.vehicle.payload_mass == pytest.approx(found.payload, rel=1e-9)
    assert found.payload > 4164.0
    assert not found.ascent.certificate.beyond()


def test_its_tank_holds_it(found: ao.MaxPayload) -> None:
    assert found.held_by.kind is ao.HeldBy.TANK
    assert "held by the propellant of stage 2" in str(found)


@pytest.mark.parametrize("name", ["moon-brisk", "moon-two-stages-slow"])
def test_a_kilogram_more_in_its_tank_is_worth_what_is_told(name: str) -> None:
    """By solving again; above a weak first stage it is worth less than nothing."""
    scenario = ao.scenarios()[name]
    vehicle, last = scenario.vehicle, scenario.vehicle.stages[-1]
    more = 5e-3 * last.propellant_mass

    def greatest(by: float) -> ao.MaxPayload:
        stage = replace(last, propellant_mass=last.propellant_mass + by)
        other = replace(vehicle, stages=(*vehicle.stages[:-1], stage))
        return ao.max_payload(other, scenario.mission)

    told = greatest(0.0).held_by
    assert told.kind is ao.HeldBy.TANK
    slope = (greatest(more).payload - greatest(-more).payload) / (2.0 * more)
    assert told.payload == pytest.approx(slope, rel=5e-3)


def test_it_is_verified_with_its_ascent(found: ao.MaxPayload) -> None:
    assert found.verify(), str(found.verify())
    for name, forged in (
        ("payload", replace(found, payload=found.payload + 1e-3)),
        ("surplus", replace(found, surplus=found.surplus + 1e-3)),
    ):
        told = forged.verify()
        assert not told
        assert [one.quantity for one in told.disagreements] == [f"greatest payload: {name}"]


def test_one_per_cent_more_does_not_fly(found: ao.MaxPayload) -> None:
    assert not flies(four_phase_launcher(), four_phase_mission(), 1.01 * found.payload)


@pytest.mark.slow
def test_it_does_not_depend_on_where_the_search_starts(found: ao.MaxPayload) -> None:
    """From far above, what is refused by the bound; and from nothing."""
    for payload in (20e3, 0.0):
        other = ao.max_payload(four_phase_launcher(payload=payload), four_phase_mission())
        assert other.payload == pytest.approx(found.payload, rel=1e-9)


@pytest.mark.slow
def test_a_reserve_is_left_and_costs_payload() -> None:
    free = ao.max_payload(lander(), moon_mission())
    kept = ao.max_payload(lander(), moon_mission(), reserve=100.0)
    assert kept.ascent.propellant_margin == pytest.approx(100.0, abs=1.0)
    partial = kept.ascent.partials["payload"].propellant
    assert free.payload - kept.payload == pytest.approx(100.0 / partial, rel=0.05)


def test_what_does_not_fly_empty_is_infeasible() -> None:
    engine = ao.Engine(vacuum_thrust=400 * kN, vacuum_isp=300.0)
    stage = ao.Stage(name="only", propellant_mass=20 * tonne, dry_mass=2 * tonne, engine=engine)
    vehicle = ao.Vehicle(name="Dunlin", payload_mass=500.0, stages=(stage,))
    with pytest.raises(ao.InfeasibleAscent, match="short by"):
        ao.max_payload(vehicle, earth_mission())


@pytest.mark.slow
def test_a_reserve_beyond_what_an_empty_vehicle_leaves_is_infeasible() -> None:
    with pytest.raises(ao.InfeasibleAscent, match=r"leaves .* kg of propellant.*are asked for"):
        ao.max_payload(lander(), moon_mission(), reserve=5000.0)


def test_a_negative_reserve_is_an_input_error() -> None:
    with pytest.raises(ao.InputError, match="reserve"):
        ao.max_payload(lander(), moon_mission(), reserve=-1.0)


@pytest.mark.slow
def test_the_example_carries_one_payload_and_not_one_per_cent_more() -> None:
    found = ao.max_payload(TURNSTONE, PELICAN_POINT)
    assert found.payload == pytest.approx(2726.3, rel=5e-4)
    assert 0.0 <= found.ascent.propellant_margin < 1.0
    assert not flies(TURNSTONE, PELICAN_POINT, 1.01 * found.payload)


def test_a_weak_engine_is_held_by_its_thrust_on_the_pad() -> None:
    """Its tank holds more than the orbit takes; on the Moon a kilonewton lifts 616 kg."""
    engine = ao.Engine(vacuum_thrust=19 * kN, vacuum_isp=320.0)
    stage = replace(lander().stages[0], propellant_mass=9 * tonne, engine=engine)
    vehicle = replace(lander(), stages=(stage,))
    found = ao.max_payload(vehicle, moon_mission())
    gravity = found.payload + 9 * tonne + stage.dry_mass
    assert found.held_by.kind is ao.HeldBy.THRUST_AT_LIFT_OFF
    assert found.held_by.payload == pytest.approx(1e3 * gravity / (19 * kN), rel=1e-2)
    assert found.surplus > 1000.0
    assert found.ascent.certificate


@pytest.mark.slow
def test_a_stage_too_weak_for_more_is_flown_up_to_where_it_falls_back() -> None:
    """Losses grow without bounds towards some 2088 kg: no slope from below foretells it."""
    scenario = ao.scenarios()["pebble-weak-upper"]
    found = ao.max_payload(scenario.vehicle, scenario.mission)
    assert found.payload > 2080.0
    assert found.held_by.payload is not None
    assert found.held_by.payload < 0.1
    assert not found.ascent.certificate.far_beyond()


@pytest.mark.slow
def test_limits_beside_it_are_told_with_what_they_are_worth() -> None:
    limits = PELICAN_POINT.limits
    tight, loose = (
        ao.max_payload(
            TURNSTONE, replace(PELICAN_POINT, limits=replace(limits, dynamic_pressure=q * kPa))
        )
        for q in (34.5, 35.5)
    )
    told = {one.what: one.payload for one in tight.limits}
    worth = told["the limit on dynamic pressure"]
    assert worth == pytest.approx(loose.payload - tight.payload, rel=0.15)
    assert "beside it acts the limit on dynamic pressure" in str(tight)


def test_files_of_before_tell_what_held_it_in_words(found: ao.MaxPayload, tmp_path: Path) -> None:
    path = tmp_path / "most.json"
    found.save(path)
    assert ao.MaxPayload.load(path) == found
    data = persistence.read(path)
    for name in ("checksum", "library", "limits"):
        del data[name]
    old = {**data, "version": 1, "held_by": "the propellant", "solves": 5}
    persistence.write(path, old)
    loaded = ao.MaxPayload.load(path)
    assert loaded.held_by == ao.Holder.unknown("the propellant")
    assert (loaded.payload, loaded.limits) == (found.payload, ())


@pytest.mark.slow
def test_limits_that_no_payload_keeps_are_an_infeasible_ascent() -> None:
    """And a refusal of a vehicle without payload, which no lighter one can follow."""
    limits = replace(PELICAN_POINT.limits, dynamic_pressure=25 * kPa)
    with pytest.raises(ao.InfeasibleAscent):
        ao.max_payload(TURNSTONE, replace(PELICAN_POINT, limits=limits))


@pytest.mark.slow
def test_with_little_thrust_on_the_pad_no_more_flies_than_is_found() -> None:
    """What flies far too heavy with its tank overdrawn leads to a worse flight of a lighter one."""
    first = ao.Stage(
        name="first",
        propellant_mass=60 * tonne,
        dry_mass=4 * tonne,
        engine=ao.Engine(vacuum_thrust=950 * kN, vacuum_isp=320.0),
    )
    upper = ao.Stage(
        name="upper",
        propellant_mass=16 * tonne,
        dry_mass=1 * tonne,
        restarts=1,
        engine=ao.Engine(vacuum_thrust=160 * kN, vacuum_isp=450.0),
    )
    vehicle = ao.Vehicle(
        name="Whimbrel",
        payload_mass=2 * tonne,
        stages=(first, upper),
        fairing=ao.Fairing(mass=300.0),
        aerodynamics=ao.Aerodynamics(reference_area=4.2, drag_coefficient=0.4),
    )
    mission = ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=0.05),
        orbit=ao.CircularOrbit(altitude=200e3),
    )
    most = ao.max_payload(vehicle, mission)
    assert most.ascent.certificate
    assert flies(vehicle, mission, 0.999 * most.payload)
    assert not flies(vehicle, mission, 1.005 * most.payload)
