"""Pitch read from a short table."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import persistence
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.units import deg, km
from tests.flight.rockets import mission, plain

PLAN = ao.FlightPlan(inserting_stage=1)
ENDINGS = (("upper", AfterDuration(60.0)),)
DEGREES = (90.0, 80.0, 55.0, 30.0)
COLUMNS = {
    ao.Against.TIME: (15.0, 30.0, 70.0, 130.0),
    ao.Against.ALTITUDE: (0.3 * km, 3 * km, 20 * km, 60 * km),
    ao.Against.AIR_SPEED: (60.0, 200.0, 900.0, 2400.0),
}
ALL = pytest.mark.parametrize("against", list(ao.Against))


def table(against: ao.Against) -> ao.PitchTable:
    rows = tuple((at, pitch * deg) for at, pitch in zip(COLUMNS[against], DEGREES, strict=True))
    return ao.PitchTable(plan=PLAN, against=against, rows=rows, heading=80 * deg, endings=ENDINGS)


@ALL
def test_the_pitch_is_the_tables(against: ao.Against) -> None:
    track = ao.fly(plain(), mission(), table(against)).trajectory
    burning = np.linalg.norm(track.directions, axis=1) > 0.5
    column = {
        ao.Against.TIME: track.time,
        ao.Against.ALTITUDE: track.altitude,
        ao.Against.AIR_SPEED: track.air_speed,
    }[against][burning]
    expected = np.interp(column, COLUMNS[against], DEGREES)
    steered = column > COLUMNS[against][0]
    assert steered.sum() > 100
    found = np.degrees(track.pitch[burning])
    assert found[steered] == pytest.approx(expected[steered], abs=1e-6)


@ALL
def test_it_flies_compiled_as_it_flies(against: ao.Against) -> None:
    vehicle, law = plain(), table(against)
    flown = ao.fly(vehicle, mission(), law)
    sequence = sequence_of(vehicle, mission(), PLAN)
    quick = CompiledFlight(sequence, law, fairing_heating=vehicle.max_heating)
    miss = quick.fly(quick.start()).state - flown.final_state
    assert np.linalg.norm(miss[:3]) < 0.5
    assert np.linalg.norm(miss[3:6]) < 1e-3


def test_the_compass_is_let_go_at_twelve_degrees() -> None:
    track = ao.fly(plain(), mission(latitude=40 * deg), table(ao.Against.TIME)).trajectory
    early, late = track.at(30.0), track.at(120.0)  # 12 degrees are leaned at 33.2 s
    assert np.degrees(early.heading) == pytest.approx(80.0, abs=1e-6)
    assert np.degrees(late.heading) > 80.01  # a great circle turns south there


def test_it_is_saved_and_read() -> None:
    law = table(ao.Against.AIR_SPEED)
    assert persistence.decode(persistence.encode(law)) == law


def test_what_cannot_be_right_is_refused() -> None:
    good = table(ao.Against.TIME)
    with pytest.raises(ao.InputError, match="abscissae increasing"):
        replace(good, rows=((10.0, 1.0), (10.0, 0.5)))
    with pytest.raises(ao.InputError, match="at least one"):
        replace(good, rows=())
    with pytest.raises(ao.InputError, match=r"Against\.TIME"):
        replace(good, against="time")  # type: ignore[arg-type]
