"""What a refusal says beside the missing speed: the payload that flies, the limits in the way."""

from __future__ import annotations

import pickle
from dataclasses import replace

import pytest

import ascentopt as ao
from ascentopt.optimal.explain.diagnosis import Diagnosis
from ascentopt.units import km, kPa, tonne
from tests.optimal.launchers import earth_mission
from tests.optimal.structure.test_structures import no_restart


def launch(payload: float, **limits: float | None) -> ao.Ascent:
    orbit = ao.CircularOrbit(altitude=300 * km)
    mission = replace(earth_mission(**limits), orbit=orbit)
    stages = tuple(replace(stage) for stage in no_restart().stages)
    first = replace(stages[0], propellant_mass=45 * tonne)
    vehicle = replace(no_restart(), payload_mass=payload, stages=(first, stages[1]))
    return ao.optimize(vehicle, mission)


@pytest.fixture(scope="module")
def refusal() -> ao.InfeasibleAscent:
    with pytest.raises(ao.InfeasibleAscent) as caught:
        launch(9 * tonne, staging_dynamic_pressure=0.05 * kPa)
    return caught.value


@pytest.mark.slow
def test_the_payload_it_names_flies_and_a_little_more_does_not(
    refusal: ao.InfeasibleAscent,
) -> None:
    payload = refusal.diagnosis.payload
    assert launch(payload, staging_dynamic_pressure=0.05 * kPa).propellant_margin >= 0.0
    with pytest.raises(ao.InfeasibleAscent):
        launch(1.06 * payload, staging_dynamic_pressure=0.05 * kPa)


def test_relaxing_a_limit_by_what_it_says_gives_the_speed_it_says(
    refusal: ao.InfeasibleAscent,
) -> None:
    """Solved again with the limit relaxed: the slope is that of the multiplier."""
    acting = {relief.limit: relief for relief in refusal.diagnosis.relief}
    relief = acting["limit on staging dynamic pressure"]
    assert relief.unit == "kPa"
    with pytest.raises(ao.InfeasibleAscent) as caught:
        launch(9 * tonne, staging_dynamic_pressure=0.051 * kPa)
    gained = refusal.diagnosis.shortfall - caught.value.diagnosis.shortfall
    assert gained == pytest.approx(0.001 * relief.gain, rel=0.1)
    assert f"{relief}" in str(refusal)


def test_the_nearest_flight_comes_along(refusal: ao.InfeasibleAscent) -> None:
    again = pickle.loads(pickle.dumps(refusal))
    assert isinstance(again.diagnosis, Diagnosis)
    assert again.diagnosis.trajectory.time[-1] > 300.0
    assert again.diagnosis.payload == refusal.diagnosis.payload


def test_a_diagnosis_prints_in_words(refusal: ao.InfeasibleAscent) -> None:
    told = str(refusal.diagnosis)
    assert told.startswith(f"short by {refusal.shortfall:.1f} m/s. It is reached")
    assert "array" not in told
