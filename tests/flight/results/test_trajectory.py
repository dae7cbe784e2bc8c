"""What was flown, as columns: joints, interpolation, peaks, JSON; and the table of events."""

from __future__ import annotations

import json
import pickle
from dataclasses import replace

import numpy as np
import pytest

from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.flight.simulation.simulate import fly
from ascentopt.units import km, kPa
from tests.flight.rockets import Leaning, mission, plain

PLAN = FlightPlan(inserting_stage=1, fairing_arc="upper")


@pytest.fixture(scope="module")
def flight() -> Flight:
    law = Leaning(PLAN, {"upper, bare": AfterDuration(30.0)})
    return fly(plain(), mission(), law)


@pytest.fixture(scope="module")
def track(flight: Flight) -> Trajectory:
    return flight.trajectory


def test_columns_run_through_all_arcs(track: Trajectory) -> None:
    count = sum(len(arc.times) for arc in track.arcs)
    for column in Trajectory.columns():
        assert getattr(track, column.name).shape == (count,)
    assert track.states.shape == (count, 7)
    assert track.directions.shape == (count, 3)
    assert np.all(np.diff(track.time) >= 0.0)
    assert np.array_equal(track.mass, track.states[:, 6])
    assert track.duration == track.time[-1] - track.time[0]
    assert Trajectory.dynamic_pressure.unit == "Pa"


def test_a_joint_appears_before_and_after(track: Trajectory) -> None:
    for before, after in zip(track.arcs, track.arcs[1:], strict=False):
        assert before.times[-1] == after.times[0]
        assert np.array_equal(before.states[-1, :6], after.states[0, :6])
        assert after.states[0, 6] <= before.states[-1, 6]


def test_directions_are_unit_while_something_burns(track: Trajectory) -> None:
    for arc in track.arcs:
        length = np.linalg.norm(arc.directions, axis=1)
        assert length == pytest.approx(0.0 if arc.name == "coast to upper" else 1.0, abs=1e-12)


def test_interpolation_at_a_sample_is_the_sample_and_between_is_close(track: Trajectory) -> None:
    core = track.arcs[1]
    inner = track.at(core.times[1:-1])
    assert inner.altitude == pytest.approx(core.readings[1:-1, 1], rel=1e-12)
    middle = 0.5 * (core.times[:-1] + core.times[1:])
    # Every other sample left out: the spline still hits those that were dropped.
    coarse = Trajectory(arcs=(_thinned(core),))
    dropped = coarse.at(core.times[1:-1:2])
    assert dropped.speed == pytest.approx(core.readings[1:-1:2, 3], rel=1e-5)
    assert len(track.at(middle).time) == len(middle)
    assert isinstance(float(track.at(60.0).mach), float)
    assert track.at(60.0).time == pytest.approx(60.0, abs=1e-12)


def _thinned(arc: TrajectoryArc) -> TrajectoryArc:
    keep = np.unique([*range(0, len(arc.times), 2), len(arc.times) - 1])
    return replace(
        arc,
        times=arc.times[keep],
        states=arc.states[keep],
        directions=arc.directions[keep],
        throttle=arc.throttle[keep],
        readings=arc.readings[keep],
    )


def test_at_a_joint_the_readings_after_it_are_given(flight: Flight, track: Trajectory) -> None:
    drop = flight.events["core separation"]
    assert track.at(drop.time).mass == pytest.approx(drop.mass_after)
    assert track.at(track.time[-1]).mass == pytest.approx(track.mass[-1])


def test_times_outside_the_flight_are_refused(track: Trajectory) -> None:
    with pytest.raises(InputError, match=r"time is -1\.0 s"):
        track.at(-1.0)
    with pytest.raises(InputError, match="ends of the flight"):
        track.at([0.0, 1e5])


def test_a_peak_lies_between_samples(track: Trajectory) -> None:
    value, where = track.peak(Trajectory.dynamic_pressure)
    assert value >= track.dynamic_pressure.max()
    assert where.dynamic_pressure == value
    fine = track.at(np.linspace(float(where.time) - 2.0, float(where.time) + 2.0, 401))
    assert fine.dynamic_pressure.max() == pytest.approx(value, rel=1e-6)
    assert track.peak(Trajectory.altitude).value == pytest.approx(track.altitude.max(), rel=1e-9)


def test_json_keeps_every_bit_and_has_no_nan(track: Trajectory) -> None:
    text = json.dumps(track.to_dict(), allow_nan=False)
    again = Trajectory.from_dict(json.loads(text))
    assert again == track
    assert np.array_equal(again.pitch, track.pitch, equal_nan=True)
    assert np.isnan(track.pitch).any()


def test_pickle_keeps_it_too(flight: Flight) -> None:
    again = pickle.loads(pickle.dumps(flight))
    assert again == flight


def test_another_form_is_refused(track: Trajectory) -> None:
    data = track.to_dict()
    with pytest.raises(InputError, match="form is 99"):
        Trajectory.from_dict({**data, "form": 99})
    with pytest.raises(InputError, match="Write the trajectory again"):
        Trajectory.from_dict({**data, "columns": data["columns"][1:]})


def test_arrays_cannot_be_written_into(track: Trajectory) -> None:
    with pytest.raises(ValueError, match="read-only"):
        track.arcs[0].states[0, 0] = 0.0


def test_events_are_in_order_and_complete(flight: Flight) -> None:
    names = [row.name for row in flight.events]
    assert names == [
        "lift-off",
        "pitch-over",
        "max dynamic pressure",
        "core separation",
        "upper ignition",
        "fairing drop",
        "end of flight",
    ]
    times = [row.time for row in flight.events]
    assert times == sorted(times)
    last, track = flight.events.rows[-1], flight.trajectory
    assert last.altitude == track.altitude[-1]
    assert last.downrange == track.downrange[-1]
    peak = flight.events["max dynamic pressure"]
    assert peak.dynamic_pressure == track.peak(Trajectory.dynamic_pressure).value
    assert peak.mass_before == peak.mass_after
    with pytest.raises(KeyError, match="no event 'landing'"):
        flight.events["landing"]


def test_the_table_of_events_names_its_units(flight: Flight) -> None:
    heads, units, *rows = str(flight.events).splitlines()
    assert heads.split() == ["event", "time", "altitude", "speed", "downrange", "q", "mass",
                             "before", "mass", "after"]  # fmt: skip
    assert units.split() == ["s", "km", "m/s", "km", "kPa", "kg", "kg"]
    assert len(rows) == len(flight.events)
    row = flight.events["core separation"]
    shown = next(line for line in rows if line.startswith("core separation")).split()[2:]
    assert [float(cell) for cell in shown] == pytest.approx(
        [
            row.time,
            row.altitude / km,
            row.speed,
            row.downrange / km,
            row.dynamic_pressure / kPa,
            row.mass_before,
            row.mass_after,
        ],
        abs=0.051,
    )
    assert str(flight.budget) in str(flight)


def test_a_heading_that_passes_north_is_no_jump(track: Trajectory) -> None:
    core = track.arcs[1]
    readings = core.readings.copy()
    turning = np.linspace(-0.2, 0.3, len(core.times))  # rad from north
    place = Trajectory.columns().index(Trajectory.heading)
    readings[:, place] = turning % (2.0 * np.pi)
    one = Trajectory(arcs=(replace(core, readings=readings),))
    asked = np.linspace(core.times[0], core.times[-1], 999)
    found = one.at(asked).heading
    # The samples are not evenly spaced: what was put in, put through the same spacing.
    wanted = np.interp(asked, core.times, turning)
    apart = (found - wanted + np.pi) % (2.0 * np.pi) - np.pi
    assert np.abs(apart).max() < 0.01
    assert found.min() >= 0.0
    assert found.max() < 2.0 * np.pi
