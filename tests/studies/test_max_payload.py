"""The greatest payload flies, and one per cent more does not."""

from __future__ import annotations

from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.units import kN, tonne
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


def test_its_tank_holds_it_by_the_slope_of_the_payload(found: ao.MaxPayload) -> None:
    assert found.held_by.kind is ao.HeldBy.TANK
    assert "held by the propellant of stage 2" in str(found)
    slope = -found.ascent.partials["payload"].margin
    assert found.held_by.payload == pytest.approx(1.0 / slope, rel=1e-3)


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
