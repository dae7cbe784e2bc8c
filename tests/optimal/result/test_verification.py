"""An ascent is flown again, and what it says of itself is held against that flight."""

from __future__ import annotations

import json
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.flight.results.events import EventTable
from ascentopt.optimal.result.certificate import Verdict
from tests.optimal.launchers import earth_mission, four_phase_launcher
from tests.rules.pebble import MISSION, relit


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(relit(0, 1), MISSION)


def test_what_was_solved_is_verified(ascent: ao.Ascent, tmp_path: Path) -> None:
    found = ascent.verify()
    assert found
    assert found.disagreements == ()
    assert len(found.checks) > 50
    assert "verified" in str(found)
    assert "not checked: residuals" in str(found)
    ascent.save(tmp_path / "ascent.json")
    assert ao.Ascent.load(tmp_path / "ascent.json").verify() == found


@pytest.mark.slow
def test_boosters_and_a_fairing_are_verified() -> None:
    found = ao.optimize(four_phase_launcher(), earth_mission()).verify()
    assert found, str(found)


def test_a_certificate_is_true_where_it_certifies(ascent: ao.Ascent) -> None:
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert ascent.certificate
    assert not replace(ascent.certificate, primer_angle=1.0)
    open_structure = replace(ascent.certificate.structures, open=("another",))  # type: ignore[type-var]
    unsettled = replace(ascent.certificate, structures=open_structure)
    assert unsettled.verdict is Verdict.UNSETTLED
    assert not unsettled


def test_misses_that_cannot_be_are_found_out(ascent: ao.Ascent) -> None:
    """A flight that ends elsewhere, certified to end where it should."""
    last = ascent.steering.segments[-1]
    later = replace(last, duration=last.duration + 0.05)
    steering = replace(ascent.steering, segments=(*ascent.steering.segments[:-1], later))
    flight = ao.fly(ascent.vehicle, ascent.mission, steering)
    forged = replace(
        ascent,
        steering=steering,
        trajectory=flight.trajectory,
        events=flight.events,
        budget=flight.budget,
        flight_time=flight.final_time,
        final_mass=float(flight.final_state[6]),
        propellant_used=ascent.propellant_used
        + ascent.trajectory.final_state[6]
        - flight.final_state[6],
        propellant_margin=ascent.propellant_margin
        - ascent.trajectory.final_state[6]
        + flight.final_state[6],
    )
    found = forged.verify()
    assert not found
    assert found.disagreements == ()
    assert any("the orbit misses apoapsis" in one for one in found.objections)
    honest = replace(ascent.certificate, position_miss=400.0, velocity_miss=1.5)
    assert replace(forged, certificate=honest).verify()


def lighter_events(ascent: ao.Ascent) -> EventTable:
    rows = [replace(row, mass_after=row.mass_after - 5.0) for row in ascent.events]
    return EventTable(rows=tuple(rows))


def pressed(ascent: ao.Ascent) -> ao.Ascent:
    """With a sample in the middle that tells of less dynamic pressure, or another height."""
    first, *others = ascent.trajectory.arcs
    middle = others[0]
    readings = middle.readings * np.where(np.arange(middle.readings.shape[1]) == 1, 1.01, 1.0)
    arcs = (first, replace(middle, readings=readings), *others[1:])
    return replace(ascent, trajectory=replace(ascent.trajectory, arcs=arcs))


def moved(ascent: ao.Ascent) -> ao.Ascent:
    first, *others = ascent.trajectory.arcs
    states = others[0].states.copy()
    states[len(states) // 2, 0] += 50.0
    arcs = (first, replace(others[0], states=states), *others[1:])
    return replace(ascent, trajectory=replace(ascent.trajectory, arcs=arcs))


FORGERIES: dict[str, Callable[[ao.Ascent], ao.Ascent]] = {
    "propellant used": lambda one: replace(one, propellant_used=one.propellant_used - 1.0),
    "propellant left": lambda one: replace(one, propellant_margin=one.propellant_margin + 1.0),
    "final mass": lambda one: replace(one, final_mass=one.final_mass + 0.5),
    "flight time": lambda one: replace(one, flight_time=one.flight_time + 1.0),
    "limit excess": lambda one: replace(
        one, certificate=replace(one.certificate, limit_excess=-0.9)
    ),
    "budget, gravity": lambda one: replace(
        one, budget=replace(one.budget, gravity=one.budget.gravity - 1.0)
    ),
    "mass after": lambda one: replace(one, events=lighter_events(one)),
    "readings of": pressed,
    "place in": moved,
    "mass in": lambda one: replace(
        one, vehicle=replace(one.vehicle, payload_mass=one.vehicle.payload_mass + 10.0)
    ),
}


@pytest.mark.parametrize("name", list(FORGERIES))
def test_a_forged_number_is_found_out_though_its_checksum_fits(
    name: str, ascent: ao.Ascent, tmp_path: Path
) -> None:
    FORGERIES[name](ascent).save(tmp_path / "forged.json")
    found = ao.Ascent.load(tmp_path / "forged.json").verify()
    assert not found
    assert any(name in one.quantity for one in found.disagreements), str(found)
    assert "NOT verified" in str(found)
    assert "does not agree" in str(found)


def test_a_steering_that_falls_down_is_found_out(ascent: ao.Ascent) -> None:
    def turned(segment: ao.SteeringSegment) -> ao.SteeringSegment:
        return replace(segment, up=tuple(-abs(one) - 1.0 for one in segment.up))

    steering = replace(ascent.steering, segments=tuple(map(turned, ascent.steering.segments)))
    found = replace(ascent, steering=steering).verify()
    assert not found
    assert any("does not fly" in one for one in found.objections)


def test_by_a_number_a_file_changed_by_hand_is_refused_before(
    ascent: ao.Ascent, tmp_path: Path
) -> None:
    path = tmp_path / "ascent.json"
    ascent.save(path)
    data: dict[str, Any] = json.loads(path.read_text(encoding="utf-8"))
    data["propellant_used"] -= 1.0
    path.write_text(json.dumps(data), encoding="utf-8")
    with pytest.raises(ao.InputError, match="was changed since it was saved"):
        ao.Ascent.load(path)
    persistence.write(path, data)
    assert not ao.Ascent.load(path).verify()
