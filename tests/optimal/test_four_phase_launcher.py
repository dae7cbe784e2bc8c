"""Check A: the four-phase launcher of Benson (2004) and Betts (2010, sec. 6.15), public face."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import Refinement
from ascentopt.units import km, kPa
from tests.optimal.launchers import four_phase_launcher, four_phase_mission

PUBLISHED = 7529.712412
"""kg, Betts, sec. 6.15."""

RECOMPUTED = 7529.712296
"""kg, two meshes of another program agree on it to 1e-6 kg."""


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(four_phase_launcher(), four_phase_mission())


def test_the_final_mass_is_the_published_one_at_default_settings(ascent: ao.Ascent) -> None:
    assert ascent.final_mass == pytest.approx(PUBLISHED, rel=1e-5)


def test_the_final_mass_is_the_recomputed_one_on_a_fine_mesh() -> None:
    effort = ao.Effort(refinement=Refinement(tolerance=1e-9, path_tolerance=5e-3, rounds=8))
    fine = ao.optimize(four_phase_launcher(), four_phase_mission(), effort)
    assert fine.final_mass == pytest.approx(RECOMPUTED, rel=1e-6)
    assert fine.flight_time == pytest.approx(924.139203, abs=1e-2)


@pytest.mark.parametrize(
    ("event", "time", "altitude", "speed"),
    [
        ("six separation", 75.2, 17.706, 1349.15),
        ("three separation", 150.4, 58.409, 3005.34),
        ("stage 1 separation", 261.0, 129.100, 5185.75),
    ],
)
def test_states_at_the_stagings(
    ascent: ao.Ascent, event: str, time: float, altitude: float, speed: float
) -> None:
    """Recomputed from the published data, to the digits given."""
    row = ascent.events[event]
    assert row.time == pytest.approx(time, abs=1e-6)
    assert row.altitude / km == pytest.approx(altitude, abs=2e-3)
    assert row.speed == pytest.approx(speed, abs=0.1)


def test_peak_of_dynamic_pressure_and_propellant_left(ascent: ao.Ascent) -> None:
    peak = ascent.events["max dynamic pressure"]
    assert peak.dynamic_pressure / kPa == pytest.approx(61.37, abs=0.01)
    assert peak.time == pytest.approx(57.4, abs=0.5)
    assert ascent.propellant_margin == pytest.approx(885.712, abs=0.08)


def test_the_independent_flight_arrives(ascent: ao.Ascent) -> None:
    assert ascent.certificate.position_miss < 10.0
    assert ascent.certificate.velocity_miss < 0.01
    assert not ascent.certificate.beyond()
    assert abs(ascent.budget.closing_error) < 0.1


def test_thrust_lies_along_the_primer_vector(ascent: ao.Ascent) -> None:
    """No limit acts in this problem, so Pontryagin's principle holds all along."""
    assert ascent.certificate.primer_angle < 1e-6


def test_saving_and_loading_changes_nothing(ascent: ao.Ascent, tmp_path: Path) -> None:
    ascent.save(tmp_path / "ascent.json")
    again = ao.Ascent.load(tmp_path / "ascent.json")
    assert str(again) == str(ascent)
    assert again.vehicle == ascent.vehicle
    assert again.mission == ascent.mission
    assert again.steering == ascent.steering
    assert again.trajectory.arcs == ascent.trajectory.arcs
    flight = ao.fly(again.vehicle, again.mission, again.steering)
    assert np.linalg.norm(flight.final_state[:3] - ascent.trajectory.final_state[:3]) < 1e-3


def test_a_payload_of_20_t_is_refused_with_the_shortfall() -> None:
    with pytest.raises(ao.InfeasibleAscent) as refusal:
        ao.optimize(four_phase_launcher(payload=20e3), four_phase_mission())
    assert refusal.value.shortfall is not None
    assert 100.0 < refusal.value.shortfall < 5000.0
    assert "short by" in str(refusal.value)
    found = refusal.value.diagnosis
    assert found.payload == pytest.approx(5175.3, rel=0.02)  # what `max_payload` finds
    assert found.payload < 5175.4
    assert f"reached with {found.payload:.5g} kg of payload" in str(refusal.value)
    assert found.shortfall >= 2479.0  # the impulsive bound's
    assert found.trajectory.altitude[-1] > 0.0
    light = ao.optimize(four_phase_launcher(payload=found.payload), four_phase_mission())
    assert light.propellant_margin >= 0.0
    with pytest.raises(ao.InfeasibleAscent, match="short by"):
        ao.optimize(four_phase_launcher(payload=1.03 * found.payload), four_phase_mission())
