"""The compiled flight does what the independent simulator does, and more."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.arc_flight import ArcFlight
from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import ArcNotEnded, FellToGround
from ascentopt.flight.compiled.load_log import LoadLog
from ascentopt.flight.guidance.ending import AfterDuration, AtAirSpeed, AtApoapsisRadius, Ending
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.steering.formulas import Lean, Level
from ascentopt.steering.programme import Phase, Programme
from ascentopt.units import deg, km
from tests.flight.rockets import boosted, mission, plain

PLAN = FlightPlan(inserting_stage=1, fairing_arc="upper")
KICK = ao.Kick(at=AtAirSpeed(70.0), angle=1.5 * deg, heading=80 * deg)
BURN = AfterDuration(40.0)


def turn(ending: Ending = BURN) -> ao.GravityTurn:
    return ao.GravityTurn(plan=PLAN, kick=KICK, endings=(("upper, bare", ending),))


def quick(
    vehicle: ao.Vehicle, law: ao.GravityTurn | Programme, allowed_debt: float = 0.0
) -> CompiledFlight:
    sequence = sequence_of(vehicle, mission(), law.plan)
    return CompiledFlight(
        sequence, law, fairing_heating=vehicle.max_heating, allowed_debt=allowed_debt
    )


@lru_cache(maxsize=4)
def flown(vehicle: ao.Vehicle) -> tuple[Checkpoint, ao.Flight]:
    flight = quick(vehicle, turn())
    return flight.fly(flight.start()), ao.fly(vehicle, mission(), turn())


BOTH = pytest.mark.parametrize("vehicle", [plain(), boosted()], ids=lambda v: v.name)


@BOTH
def test_arcs_begin_when_they_do(vehicle: ao.Vehicle) -> None:
    mark, flight = flown(vehicle)
    ends = [end.time for end in flight.ends]
    assert [*mark.begun[1:], mark.time] == pytest.approx(ends, abs=1e-5)


@BOTH
def test_it_arrives_where_it_does(vehicle: ao.Vehicle) -> None:
    mark, flight = flown(vehicle)
    miss = mark.state - flight.final_state
    assert np.linalg.norm(miss[:3]) < 0.5
    assert np.linalg.norm(miss[3:6]) < 1e-3
    assert abs(miss[6]) < 1e-3


@BOTH
def test_peaks_are_the_trajectorys(vehicle: ao.Vehicle) -> None:
    mark, flight = flown(vehicle)
    track = flight.trajectory
    # Between its samples the trajectory may peak a little higher.
    assert mark.peaks[0] == pytest.approx(np.nanmax(track.dynamic_pressure), rel=1e-3)
    assert mark.peaks[2] == pytest.approx(np.nanmax(track.axial_acceleration), rel=1e-3)


@pytest.mark.filterwarnings("ignore::ascentopt.UnusualInputWarning")  # a heating of next to none
@BOTH
def test_the_fairing_goes_when_heating_allows(vehicle: ao.Vehicle) -> None:
    flight = quick(vehicle, turn())
    names = [arc.name for arc in flight.sequence.arcs]
    before = flight.fly(flight.start(), names.index("upper") - 1)
    half = 0.5 * flight.surroundings.heating(before.state)
    later = replace(vehicle, fairing=ao.Fairing(mass=120.0, max_heating=half))
    flight = quick(later, turn())
    after = flight.fly_arc(before)
    assert after.time > before.time + 1.0
    burned = flight.sequence.arcs[names.index("upper")].parameters.mass_flow * (
        after.time - before.time
    )
    assert before.mass - after.mass == pytest.approx(burned + 120.0, rel=1e-9)
    assert flight.surroundings.heating(after.state) == pytest.approx(half, rel=1e-6)


def test_a_flight_may_begin_at_any_arc() -> None:
    flight = quick(plain(), turn())
    whole = flight.fly(flight.start())
    half = flight.fly(flight.start(), 1)
    assert flight.fly(half).state == pytest.approx(whole.state, abs=1e-6)


def test_phases_pass_as_the_law_says() -> None:
    steps = (
        Phase(formula=Lean(), until=AtAirSpeed(100.0)),
        Phase(formula=Lean(start=5 * deg), until=AtAirSpeed(500.0)),
        Phase(formula=Lean(start=40 * deg)),
    )
    law = Programme(
        plan=PLAN,
        steps=steps,
        by_arc=(("upper", Level()), ("upper, bare", Level())),
        endings=(("upper", AfterDuration(5.0)), ("upper, bare", AfterDuration(20.0))),
    )
    flight = quick(plain(), law)
    end = flight.fly(flight.start())
    assert end.phase == 2
    track = ao.fly(plain(), mission(), law).trajectory
    when = float(np.interp(500.0, track.air_speed, track.time))
    assert end.phase_start == pytest.approx(when, abs=0.02)
    stopped = flight.steered_by(law, last_phase=2)
    there = stopped.fly(stopped.start())
    assert there.time == pytest.approx(when, abs=0.02)


def test_on_credit_it_says_what_is_missing() -> None:
    far = AtApoapsisRadius(6378 * km + 900 * km)
    vehicle = replace(plain(), payload_mass=2500.0)
    bare = quick(vehicle, turn(far))
    least = bare.sequence.arcs[-1].least_mass
    with pytest.raises(ArcNotEnded) as caught:
        bare.fly(bare.start())
    assert caught.value.arc == "upper, bare"
    owing = quick(vehicle, turn(far), allowed_debt=0.6 * least)
    assert 0.4 * least < owing.fly(owing.start()).mass < least


def test_a_stage_lit_again_burns_no_more_than_it_has_left() -> None:
    """A second burn may last as long as a whole tank, in which time the mass would be negative."""
    endings = (
        ("upper, bare", AfterDuration(200.0)),
        ("coast 1", AfterDuration(10.0)),
        ("upper burn 2", AtApoapsisRadius(1e12)),
    )
    law = replace(turn(), plan=replace(PLAN, restarts=1), endings=endings)
    sequence, log = sequence_of(plain(), mission(), law.plan), LoadLog()
    flight = CompiledFlight(sequence, law, fairing_heating=1135.0, allowed_debt=100.0, log=log)
    with pytest.raises(ArcNotEnded) as caught:
        flight.fly(flight.start())
    assert caught.value.arc == "upper burn 2"
    assert len(log.steps) < 300


def test_it_says_when_it_falls() -> None:
    law = replace(turn(), kick=replace(KICK, angle=45 * deg))
    flight = quick(plain(), law)
    with pytest.raises(FellToGround, match="ends below the ground"):
        flight.fly(flight.start())


def test_a_law_without_formulas_is_refused() -> None:
    flight = quick(plain(), replace(turn(), throttle=0.9))
    with pytest.raises(ao.InputError, match="no formula for arc 'core'"):
        flight.fly(flight.start())


def test_tables_with_two_points_have_corners_too() -> None:
    drag = ao.DragCurve(mach=(0.8, 1.3), cd=(0.3, 0.5))
    vehicle = replace(
        plain(), aerodynamics=ao.Aerodynamics(reference_area=5.0, drag_coefficient=drag)
    )
    mark, flight = flown(vehicle)
    miss = mark.state - flight.final_state
    assert np.linalg.norm(miss[:3]) < 0.05
    assert np.linalg.norm(miss[3:6]) < 1e-3


@BOTH
def test_the_log_has_the_loads_between_steps(vehicle: ao.Vehicle) -> None:
    log = LoadLog()
    sequence = sequence_of(vehicle, mission(), PLAN)
    flight = CompiledFlight(sequence, turn(), fairing_heating=vehicle.max_heating, log=log)
    mark = flight.fly(flight.start())
    rows = log.rows()
    assert np.all(np.diff(rows[:, 0]) > -1e-9)
    assert np.diff(rows[:, 0]).max() <= 1.0 + 1e-9
    track = flown(vehicle)[1].trajectory
    expected = np.interp(rows[:, 0], track.time, track.dynamic_pressure)
    # The track is drawn in straight lines between its samples, half a second apart.
    assert rows[:, 1] == pytest.approx(expected, abs=1e-3 * expected.max())
    # Where it is greatest within a step has a row.
    assert max(rows[:, 1]) == pytest.approx(mark.peaks[0], rel=1e-12)


def test_an_event_where_a_step_begins_takes_no_time() -> None:
    """As when a value passes zero within rounding: there is nothing to fly, nor to write down."""
    log = LoadLog()
    sequence = sequence_of(plain(), mission(), PLAN)
    flight = CompiledFlight(sequence, turn(), fairing_heating=plain().max_heating, log=log)
    start = flight.start()
    arc = ArcFlight(flight, start)
    end = arc.fly()
    written = len(log.steps)
    assert arc._accepted(end, 0.0, end.state) is end
    assert len(log.steps) == written
