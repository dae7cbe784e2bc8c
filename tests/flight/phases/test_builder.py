"""The sequence of arcs: clocks, joints, cuts and what is dropped with what."""

from __future__ import annotations

from dataclasses import replace
from math import inf

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.phases.arc_kind import NUMBERS, Guidance
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.vertical_rise import seconds_to_rise
from ascentopt.flight.plan import FlightPlan
from ascentopt.units import kN
from tests.flight.rockets import boosted, mission, plain, solid_first
from tests.optimal.launchers import earth_mission, four_phase_launcher, four_phase_mission

DIRECT = FlightPlan(inserting_stage=1)


def two_stages(min_throttle: float = 1.0) -> ao.Vehicle:
    return ao.Vehicle(
        name="Whimbrel",
        payload_mass=900.0,
        stages=(
            ao.Stage(name="first", propellant_mass=60e3, dry_mass=5e3,
                     engine=ao.Engine(vacuum_thrust=1100 * kN, vacuum_isp=300.0,
                                      min_throttle=min_throttle)),
            ao.Stage(name="second", propellant_mass=11e3, dry_mass=1e3, restarts=1,
                     ignition_delay=4.0, engine=ao.Engine(vacuum_thrust=90 * kN, vacuum_isp=340.0)),
        ),
        fairing=ao.Fairing(mass=300.0),
    )  # fmt: skip


def two_groups() -> ao.Vehicle:
    engine = ao.Engine(vacuum_thrust=300 * kN, vacuum_isp=280.0)
    near = ao.BoosterGroup(name="near", count=2, propellant_mass=6e3, dry_mass=700.0, engine=engine)
    core, upper = two_stages().stages
    return replace(
        two_stages(),
        stages=(replace(core, name="core"), upper),
        boosters=(near, replace(near, name="late")),
    )


def test_boosters_burn_and_leave_on_their_own_clocks() -> None:
    """The published launcher: six to 75.2 s, three to 150.4 s, the core to 261 s."""
    sequence = sequence_of(four_phase_launcher(), four_phase_mission(), DIRECT)
    assert [arc.duration[1] for arc in sequence.arcs] == pytest.approx([75.2, 75.2, 110.6, 700.0])
    assert [arc.joint.mass_drop for arc in sequence.arcs[:2]] == [6 * 2280.0, 3 * 2280.0]
    assert sequence.mass == 301454.0


def test_the_fairing_may_go_in_an_arc_that_shares_its_name_with_another() -> None:
    """The core burns alone twice: between the groups, and after them."""
    late = replace(two_groups().boosters[1], ignition_time=80.0)
    vehicle = replace(two_groups(), boosters=(two_groups().boosters[0], late))
    plain_names = sequence_of(vehicle, earth_mission(), DIRECT).names
    assert plain_names[1:5] == ("core+near", "core", "core+late", "core (2)")
    plan = replace(DIRECT, fairing_arc="core (2)")
    names = sequence_of(vehicle, earth_mission(), plan).names
    assert names[4:6] == ("core (2)", "core (2), bare")


def test_parameters_of_an_arc_are_told_by_name() -> None:
    """Of core, liquid and solid boosters, and the air, while all of them burn."""
    vehicle = boosted()
    solids, liquids = vehicle.boosters
    sequence = sequence_of(vehicle, earth_mission(), DIRECT)
    arc = next(one for one in sequence.arcs if one.name == "core+solids+liquids")
    own, core = arc.parameters, vehicle.stages[0].engine
    assert (own.thrust, own.mass_flow) == (480 * kN, core.mass_flow)
    assert (own.side_thrust, own.side_mass_flow) == (450 * kN, 3 * liquids.engine.mass_flow)
    both = 2 * solids.engine.effective_exit_area + 3 * liquids.engine.effective_exit_area
    assert (own.exit_area, own.side_exit_area) == (core.effective_exit_area, both)
    assert (own.reference_area, own.drag_factor, own.normal_force_slope) == (3.0, 1.0, 2.5)
    assert (own.core_ignition, own.side_ignitions) == (0.0, (0.0,))


def test_parameters_by_name_are_the_vector_of_the_equations() -> None:
    """Names and values in one order, and back again, whatever the number of motors beside it."""
    for arc in sequence_of(boosted(), earth_mission(), DIRECT).arcs:
        assert arc.parameters.numbers == arc.numbers
        named = dict(zip(arc.kind.numbers, arc.numbers, strict=True))
        assert all(named[name] == getattr(arc.parameters, name) for name in NUMBERS)


def test_unburned_propellant_is_dropped_with_its_stage() -> None:
    """Whatever is aboard before the separation, the mass after is that of the upper part."""
    sequence = sequence_of(two_stages(), earth_mission(), DIRECT)
    separation = sequence.arcs[1].joint
    above = 900.0 + 300.0 + 12e3
    assert separation.mass_after == above
    assert separation.mass(above + 5e3) == separation.mass(above + 40e3) == above


def test_the_vertical_rise_is_cut_out_of_the_first_burn() -> None:
    sequence = sequence_of(two_stages(), earth_mission(), DIRECT)
    rise, rest = sequence.arcs[:2]
    assert rise.kind.guidance is Guidance.VERTICAL
    assert rest.kind.guidance is Guidance.STEERED
    burn = 60e3 / rest.parameters.mass_flow
    (span,) = sequence.spans
    assert (span.first, span.last) == (0, 2)
    assert span.shortest == span.longest == pytest.approx(burn)


def test_the_fairing_cuts_its_arc_and_lightens_all_that_follows() -> None:
    plan = FlightPlan(inserting_stage=1, restarts=1, fairing_arc="second")
    sequence = sequence_of(two_stages(), earth_mission(), plan)
    names = list(sequence.names)
    cut = names.index("second")
    assert names[cut + 1] == "second, bare"
    assert sequence.arcs[cut].joint.fairing
    assert sequence.arcs[cut].joint.mass_drop == 300.0
    assert sequence.arcs[-1].least_mass == 900.0 + 1e3
    assert names[-2:] == ["coast 1", "second burn 2"]


def test_a_throttled_stage_may_burn_longer() -> None:
    sequence = sequence_of(two_stages(min_throttle=0.5), earth_mission(), DIRECT)
    (span,) = sequence.spans
    assert span.longest == pytest.approx(2.0 * span.shortest)


def test_a_single_stage_can_coast_and_burn_again() -> None:
    stage = two_stages().stages[1]
    vehicle = ao.Vehicle(name="Ruff", payload_mass=100.0, stages=(stage,))
    sequence = sequence_of(vehicle, earth_mission(), FlightPlan(inserting_stage=0, restarts=1))
    assert [arc.burning for arc in sequence.arcs[-3:]] == [True, False, True]
    assert sequence.arcs[-1].joint.event == "insertion"


@pytest.mark.parametrize(
    ("plan", "words"),
    [
        (FlightPlan(inserting_stage=2), "inserting_stage is 2"),
        (FlightPlan(inserting_stage=1, restarts=3), "restarts is 3"),
        (FlightPlan(inserting_stage=1, fairing_arc="third"), "fairing_arc is 'third'"),
    ],
)
def test_plans_that_the_vehicle_cannot_follow(plan: FlightPlan, words: str) -> None:
    with pytest.raises(ao.InputError, match=words):
        sequence_of(two_stages(), earth_mission(), plan)


def test_the_table_can_be_printed_before_anything_is_solved() -> None:
    text = str(sequence_of(two_stages(), earth_mission(), DIRECT))
    assert "vertical rise" in text
    assert "first separation (mass becomes 13200.0 kg)" in text


def test_engines_run_at_full_thrust_where_no_limit_asks_for_less() -> None:
    mission = earth_mission(dynamic_pressure=None)
    sequence = sequence_of(two_stages(min_throttle=0.5), mission, DIRECT)
    assert not any(arc.kind.throttled for arc in sequence.arcs)
    (span,) = sequence.spans
    assert span.longest == span.shortest


def test_a_solid_first_stage_rises_by_its_thrust_curve() -> None:
    """At 1.5 to 2 g upwards a hundred metres take 3 to 5 s: the rest of the burn is steered."""
    sequence = sequence_of(solid_first(), mission(), FlightPlan(inserting_stage=1))
    assert [arc.kind.guidance for arc in sequence.arcs[:2]] == [Guidance.VERTICAL, Guidance.STEERED]
    assert sequence.arcs[0].rise == mission().vertical_rise


@pytest.mark.parametrize("height", [3.0, 100.0, 3000.0])
def test_a_rise_on_a_thrust_curve_is_the_integral_of_it(height: float) -> None:
    vehicle, where = solid_first(), mission()
    arc = sequence_of(vehicle, replace(where, vertical_rise=None), DIRECT).arcs[0]
    motor, step = vehicle.stages[0].engine, 1e-3
    assert isinstance(motor, ao.SolidMotor)
    times = step * (np.arange(40_000) + 0.5)
    flow, exit_area = motor.mass_flow_at(times), motor.effective_exit_area
    masses = vehicle.lift_off_mass - step * np.cumsum(flow)
    thrust = motor.vacuum_thrust_at(times) - 100_800.0 * exit_area  # Pa, 40 m above the sea
    heights = step * np.cumsum(step * np.cumsum(thrust / masses - 9.75))
    expected = float(np.interp(height, heights, times))
    seconds = seconds_to_rise([(0.0, arc)], where, height, vehicle.lift_off_mass)
    assert seconds == pytest.approx(expected, rel=5e-3)


def test_a_rise_is_timed_with_what_burns_and_what_the_air_takes() -> None:
    """Constant push: height = half a t^2, to first order in the propellant burned meanwhile."""
    vehicle, where = two_stages(), earth_mission()
    arc = sequence_of(vehicle, replace(where, vertical_rise=None), DIRECT).arcs[0]
    push = 1100 * kN / vehicle.lift_off_mass - 9.78
    for height in (5.0, 50.0):
        seconds = seconds_to_rise([(0.0, arc)], where, height, vehicle.lift_off_mass)
        assert seconds == pytest.approx((2.0 * height / push) ** 0.5, rel=0.03)
    assert seconds_to_rise([(0.0, arc)], where, 1e7, vehicle.lift_off_mass) == inf


def test_a_solid_motor_burns_on_through_the_drop_of_the_fairing() -> None:
    """Its curve goes by one clock: the two pieces together burn what the whole burn does."""
    first, upper = plain().stages[0], solid_first().stages[0]
    last = replace(plain().stages[1], name="last")
    vehicle = replace(plain(), stages=(first, replace(upper, name="solid"), last))
    sequence = sequence_of(vehicle, mission(), FlightPlan(inserting_stage=2, fairing_arc="solid"))
    pieces = [arc for arc in sequence.arcs if arc.name.startswith("solid")]
    assert len(pieces) == 2
    lit = first.burn_time
    for piece in pieces:
        assert not piece.kind.core_clock_starts
        assert piece.parameters.core_ignition == pytest.approx(lit, abs=1e-9)
