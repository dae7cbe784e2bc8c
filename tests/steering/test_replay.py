"""A flight written down as a table and flown again."""

from __future__ import annotations

from dataclasses import astuple
from pathlib import Path

import numpy as np
import pytest

from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import TrajectoryArc
from ascentopt.flight.simulation.simulate import fly, simulate
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering
from ascentopt.units import deg
from ascentopt.world import Body, earth, moon
from tests.flight.rockets import Leaning, boosted, mission, plain

PLAN = FlightPlan(inserting_stage=1)


def samples(arc: TrajectoryArc) -> np.ndarray:
    return np.column_stack([arc.times, arc.states, arc.directions, arc.throttle])


def table(flight: Flight, body: Body) -> TabulatedSteering:
    arcs = [(a.name, samples(a), float(a.times[-1] - a.times[0])) for a in flight.trajectory.arcs]
    return TabulatedSteering.from_samples(PLAN, body, arcs)


def flown(vehicle: Vehicle, body: Body, throttle: float = 1.0) -> Flight:
    law = Leaning(
        PLAN, {"upper": AfterDuration(60.0)},
        rate=0.3 * deg, heading=60 * deg, throttle=throttle,
    )  # fmt: skip
    return fly(vehicle, mission(body), law)


@pytest.mark.parametrize("vehicle", [plain(), boosted()], ids=lambda v: v.name)
@pytest.mark.parametrize("body", [earth(), moon()], ids=lambda b: b.name)
def test_the_table_leads_to_the_same_place(vehicle: Vehicle, body: Body, tmp_path: Path) -> None:
    first = flown(vehicle, body)
    law = table(first, body)
    law.save(tmp_path / "table.json")
    again = fly(vehicle, mission(body), TabulatedSteering.load(tmp_path / "table.json"))
    miss = again.final_state - first.final_state
    assert np.linalg.norm(miss[:3]) < 0.01
    assert np.linalg.norm(miss[3:6]) < 1e-4
    assert again.final_time == pytest.approx(first.final_time, abs=1e-9)


class Heard(TabulatedSteering):
    """A table that is asked at every instant instead of being compiled."""

    def written(self, arc: FlightArc) -> None:  # type: ignore[override]
        return None


@pytest.mark.parametrize("throttle", [1.0, 0.9])
@pytest.mark.parametrize("vehicle", [plain(), boosted()], ids=lambda v: v.name)
def test_a_compiled_table_is_flown_as_one_that_is_asked(vehicle: Vehicle, throttle: float) -> None:
    law = table(flown(vehicle, earth(), throttle), earth())
    heard = Heard(plan=law.plan, segments=law.segments, axis=law.axis)
    one, other = (fly(vehicle, mission(earth()), way) for way in (law, heard))
    assert np.abs(one.final_state[:3] - other.final_state[:3]).max() < 1e-5
    assert np.abs(one.final_state[3:6] - other.final_state[3:6]).max() < 1e-8
    # Rounding makes one step shorter than the other, so they are compared at common instants.
    instants = np.linspace(0.5, one.final_time - 0.5, 301)
    shown, expected = (flight.trajectory.at(instants).table for flight in (one, other))
    sizes = np.nanmax(np.abs(expected), axis=0)  # a downrange of decimetres is no size of its own
    # A sample that rounding adds beside the kick moves what is read between two by less than this.
    assert np.allclose(shown / sizes, expected / sizes, rtol=0.0, atol=1e-3, equal_nan=True)
    for own, asked in zip(astuple(one.budget), astuple(other.budget), strict=True):
        assert own == pytest.approx(asked, abs=1e-6)


def test_columns_for_the_reader_are_those_of_the_flight() -> None:
    first = flown(plain(), earth())
    law = table(first, earth())
    core, track = law.segments[1], first.trajectory.arcs[1]
    shown = np.array([core.altitude, core.speed, core.pitch, core.heading])
    columns = [c.name for c in first.trajectory.columns()]
    wanted = ("altitude", "air_speed", "pitch", "heading")
    read = track.readings[:, [columns.index(name) for name in wanted]].T
    assert shown[:, 1:] == pytest.approx(read[:, 1:], rel=1e-8, abs=1e-6)
    assert law.segments[2].times == ()  # the coast


def test_a_table_for_other_arcs_is_refused() -> None:
    law = table(flown(plain(), earth()), earth())
    with pytest.raises(InputError, match=r"no segment for the arc 'core\+solids'"):
        fly(boosted(), mission(), law)


def test_every_arc_needs_its_own_segment() -> None:
    law = table(flown(plain(), earth()), earth())
    with pytest.raises(InputError, match="one for each"):
        TabulatedSteering(plan=PLAN, segments=(*law.segments, law.segments[0]))


def test_knots_do_not_blunt_the_flight() -> None:
    """Stepping on every knot: a tolerance a hundred times tighter changes a fraction of a mm."""
    law = table(flown(plain(), earth()), earth())
    sequence = sequence_of(plain(), mission(), PLAN)
    usual = simulate(sequence, law).final_state
    tight = simulate(sequence, law, relative_tolerance=1e-13).final_state
    assert np.linalg.norm((usual - tight)[:3]) < 1e-4
    assert np.linalg.norm((usual - tight)[3:6]) < 1e-7
