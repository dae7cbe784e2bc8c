"""Any number of burns that the vehicle allows and that pays, of any stage."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import cache
from itertools import pairwise

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.empty_arcs import RemoveEmptyArc, simplifications
from ascentopt.optimal.moves.freedoms import depletions
from ascentopt.optimal.moves.move import Move, arcs_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.warm_start.remap import on_sequence
from ascentopt.units import deg, g0, km, kN, kPa, tonne
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import moon_mission
from tests.optimal.structure.launches import from_near_a_pole_of_the_moon
from tests.optimal.three_stages import (
    inclination,
    launch_to,
    lengths,
    orbit_at,
    spoonbill,
    three_stages,
    with_restarts,
)
from tests.optimal.told import told

GEOSTATIONARY = ao.CircularOrbit(altitude=35786 * km, inclination=0.0)
INSTANT = 0.1
"""s. No engine comes up to its thrust and is shut down again in less."""

KEPT = 1e-6
"""Of the propellant used: a hundredth of what is promised for a restart more."""


@cache
def low(restarts: int) -> ao.Ascent:
    """To 300 km, with so many restarts of the second stage."""
    return ao.optimize(with_restarts(TURNSTONE, restarts), PELICAN_POINT)


@cache
def high(restarts: int) -> ao.Ascent:
    """To the geostationary orbit, with so many restarts of the third stage."""
    mission = launch_to(GEOSTATIONARY, 28.5 * deg)
    return ao.optimize(spoonbill(restarts, payload=2000.0), mission)


def no_worse(more: ao.Ascent, fewer: ao.Ascent) -> bool:
    return more.propellant_margin >= fewer.propellant_margin - KEPT * fewer.propellant_used


@pytest.mark.slow
def test_a_restart_more_never_leaves_less() -> None:
    ascents = [high(restarts) for restarts in (1, 2, 3)]
    assert all(ascent.certificate.verdict is Verdict.CERTIFIED for ascent in ascents)
    assert all(no_worse(more, fewer) for fewer, more in pairwise(ascents))


@pytest.mark.slow
@pytest.mark.parametrize("restarts", [2, 3])
def test_restarts_that_do_not_pay_cost_nothing(restarts: int) -> None:
    assert no_worse(low(restarts), low(1))
    assert low(restarts).certificate.verdict is Verdict.CERTIFIED


@pytest.mark.slow
def test_the_first_restart_pays_for_a_circle_and_the_second_for_a_plane() -> None:
    assert low(1).propellant_margin > low(0).propellant_margin + 50.0
    assert high(2).propellant_margin > high(1).propellant_margin + 100.0


@pytest.mark.slow
def test_no_more_burns_are_planned_than_the_stage_allows() -> None:
    assert [low(0).plan.restarts, low(1).plan.restarts] == [0, 1]
    assert [high(1).plan.restarts, high(2).plan.restarts] == [1, 2]


@pytest.mark.parametrize(("flown", "restarts"), [(low, 0), (low, 1), (high, 1), (high, 2)])
def test_every_burn_and_coast_lasts(flown: Callable[[int], ao.Ascent], restarts: int) -> None:
    assert min(lengths(flown(restarts))) > INSTANT


@pytest.mark.slow
@pytest.mark.parametrize("restarts", [2, 3])
def test_every_burn_lasts_where_more_are_allowed_than_pay(restarts: int) -> None:
    assert min(lengths(low(restarts))) > INSTANT


def kicked(restarts: int) -> ao.Vehicle:
    """A strong second stage with much propellant under a tiny third, which is lit once."""
    first, second, _ = spoonbill().stages
    second = ao.Stage(
        name="second", propellant_mass=second.propellant_mass, dry_mass=second.dry_mass,
        engine=second.engine, restarts=restarts,
    )  # fmt: skip
    third = ao.Stage(
        name="third", propellant_mass=2.5 * tonne, dry_mass=0.4 * tonne,
        engine=ao.Engine(vacuum_thrust=25 * kN, vacuum_isp=320.0),
    )  # fmt: skip
    return ao.Vehicle(
        name="Dunlin", payload_mass=900.0, stages=(first, second, third),
        fairing=spoonbill().fairing, aerodynamics=spoonbill().aerodynamics,
    )  # fmt: skip


@cache
def stationed(restarts: int) -> ao.Ascent:
    """To the geostationary orbit, with so many restarts of the second of three stages."""
    return ao.optimize(kicked(restarts), launch_to(GEOSTATIONARY, 28.5 * deg))


@pytest.mark.slow
def test_a_lower_stage_is_lit_again_at_the_node_and_leaves_the_apoapsis_to_the_last() -> None:
    ascent = stationed(1)
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert ascent.plan.relit == (1,)
    assert inclination(ascent) < 1e-4
    assert min(lengths(ascent)) > INSTANT
    names = [arc.name for arc in ascent.trajectory.arcs]
    coasts = [k for k, name in enumerate(names) if name.startswith("coast")]
    parking, way = (orbit_at(ascent, k) for k in coasts)
    assert parking.apoapsis_radius < 7500 * km
    assert way.apoapsis_radius > 40000 * km


@pytest.mark.slow
@pytest.mark.xfail(
    reason="without the restart no payload from 850 to 950 kg is found to fly (short by 2220 to "
    "2412 m/s, 139 kg named); asked for 1000 kg the refusal names 979 kg (short by 34 m/s)"
)
def test_the_restart_of_a_lower_stage_pays() -> None:
    once, twice = stationed(0), stationed(1)
    assert once.plan.relit == ()
    assert twice.propellant_margin > once.propellant_margin + 500.0


@pytest.mark.slow
def test_a_stage_whose_first_burn_would_have_no_length_waits_before_it_is_lit() -> None:
    """Near the pole a weak stage may as well be lit half way round: two plans of one flight."""
    ascent = from_near_a_pole_of_the_moon().optimum()
    assert ascent.certificate.verdict is Verdict.CERTIFIED, ascent.certificate
    assert (ascent.plan.restarts, ascent.plan.coast_before) == (0, (1,))
    assert min(lengths(ascent)) > INSTANT
    burns = [arc for arc in ascent.trajectory.arcs if not arc.name.startswith("coast")]
    assert min(arc.times[-1] - arc.times[0] for arc in burns) > INSTANT


@dataclass(frozen=True, kw_only=True)
class Emptied:
    """A flight with one arc of no length, and the structures without that."""

    case: Case
    flight: Attempt
    moves: tuple[Move, ...]

    @property
    def plans(self) -> list[FlightPlan]:
        return [move.plan for move in self.moves]


def emptied(
    vehicle: ao.Vehicle, plan: FlightPlan, k: int, *, at_first: bool = True, lasts: float = 1e-3
) -> Emptied:
    """The arc ``k`` has no length, or ``lasts`` so many s, all others minutes.

    A stage burns all in its first burn or, not ``at_first``, half of what is left in each.
    """
    case = Case(vehicle, moon_mission())
    arcs = sequence_of(vehicle, case.mission, plan).arcs
    masses, now = [], vehicle.lift_off_mass
    for j, arc in enumerate(arcs):
        ends = 1.0 if at_first or arc.fixed else 0.5
        burned = ends * (now - arc.least_mass) if arc.burning and j != k and arc.rise is None else 0
        masses.append((now, now - burned))
        now = arc.joint.mass(now - burned)
    lengths = [arc.duration[0] + (lasts if j == k else 100.0) for j, arc in enumerate(arcs)]
    flight = told(case, plan, lengths, masses)
    return Emptied(case=case, flight=flight, moves=tuple(simplifications(case, flight)))


def of_arc(vehicle: ao.Vehicle, plan: FlightPlan, name: str, *, at_first: bool = True) -> Emptied:
    names = sequence_of(vehicle, moon_mission(), plan).names
    return emptied(vehicle, plan, names.index(name), at_first=at_first)


STAGES = st.sets(st.sampled_from([0, 1])).map(lambda chosen: tuple(sorted(chosen)))
WAITS = st.sets(st.sampled_from([1, 2])).map(lambda chosen: tuple(sorted(chosen)))

PLANS = st.builds(
    FlightPlan,
    inserting_stage=st.just(2),
    coast_before=WAITS,
    cut_early=STAGES,
    restarts=st.integers(0, 2),
    relit=st.lists(st.sampled_from([0, 1]), max_size=3).map(lambda chosen: tuple(sorted(chosen))),
)
DELAYS = st.tuples(st.sampled_from([0.0, 3.0]), st.sampled_from([0.0, 3.0]))


def halves(sequence: Sequence) -> list[int]:
    """Indices of the two arcs of the burn that the drop of the fairing cuts in two."""
    cut, arcs = sequence.index_of_drop, sequence.arcs
    return [] if cut is None or not arcs[cut].burning else [cut, cut + 1]


@settings(max_examples=100)
@given(PLANS, DELAYS, st.data(), st.booleans(), st.booleans())
def test_without_what_has_no_length_it_is_the_same_flight(
    plan: FlightPlan,
    delays: tuple[float, float],
    data: st.DataObject,
    at_first: bool,  # noqa: FBT001
    fairing: bool,  # noqa: FBT001
) -> None:
    """Burns where burns were, and each arc as heavy as what the one before leaves.

    As long, but for a coast after which nothing burns.
    """
    vehicle = three_stages(delays, fairing=fairing)
    sequence = sequence_of(vehicle, moon_mission(), plan)
    if fairing:
        places = [arc.name for arc in sequence.arcs if arc.burning]
        plan = replace(plan, fairing_arc=data.draw(st.sampled_from(places)))
        sequence = sequence_of(vehicle, moon_mission(), plan)
    whole = [k for k in range(len(sequence.arcs)) if k not in halves(sequence)]
    found = emptied(vehicle, plan, data.draw(st.sampled_from(whole)), at_first=at_first)
    old, flight = found.flight.sequence.arcs, found.flight.found
    assert len(found.moves) <= 1
    for move in found.moves:
        assert isinstance(move, RemoveEmptyArc)
        sequence = arcs_of(found.case, move.plan)
        start = move.start(found.flight, sequence)
        assert start is not None
        start = on_sequence(sequence, start)
        ends = move.groups[-1][-1] + 1
        beyond = zip(old[ends:], flight.arcs[ends:], strict=True)
        assert not any(arc.burning and own.duration > 0.1 for arc, own in beyond)
        assert start.guess.instants[-1] == pytest.approx(flight.instants[ends], abs=0.01)
        for arc, group in zip(sequence.arcs, move.groups, strict=True):
            longest = max(group, key=lambda j: flight.arcs[j].duration)
            assert arc.burning == old[longest].burning
        pieces = zip(sequence.arcs, start.guess.arcs, strict=True)
        for (arc, before), (_, after) in pairwise(pieces):
            left = arc.joint.mass(float(before.states[-1, MASS]))
            assert left == pytest.approx(float(after.states[0, MASS]), abs=1e-6)


BASE = FlightPlan(inserting_stage=2)

SIMPLER = {
    "a coast before a stage": ("coast to second", replace(BASE, coast_before=(1,)), BASE),
    "a first burn": ("third", replace(BASE, restarts=1), replace(BASE, coast_before=(2,))),
    "a first burn between two coasts": (
        "third", replace(BASE, restarts=1, coast_before=(2,)), replace(BASE, coast_before=(2,))
    ),
    "a coast between burns": ("coast 1 of second", replace(BASE, relit=(1,)), BASE),
    "a burn between coasts": (
        "third burn 2", replace(BASE, restarts=2), replace(BASE, restarts=1)
    ),
    "the last burn": ("third burn 3", replace(BASE, restarts=2), replace(BASE, restarts=1)),
    "the last burn of a lower stage": (
        "second burn 2", replace(BASE, relit=(1,)), replace(BASE, coast_before=(2,))
    ),
    "the last of three burns of a lower stage": (
        "second burn 3", replace(BASE, relit=(1, 1)), replace(BASE, relit=(1,), coast_before=(2,))
    ),
}  # fmt: skip
"""The arc that has no length, of which plan, and the plan of the same flight without it."""


@pytest.mark.slow
def test_a_restart_more_is_not_spent_on_a_burn_that_no_engine_makes() -> None:
    """On the first mesh a burn of a hundredth of a second seems to gain 0.01 per cent."""
    stage = ao.Stage(
        name="only", propellant_mass=17 * tonne, dry_mass=1.9 * tonne, restarts=3,
        engine=ao.Engine(vacuum_thrust=150 * kN, vacuum_isp=360, min_throttle=0.4),
    )  # fmt: skip
    vehicle = ao.Vehicle(
        name="Lark", payload_mass=tonne, stages=(stage,),
        aerodynamics=ao.Aerodynamics(reference_area=12, drag_coefficient=0.7),
    )  # fmt: skip
    mission = ao.Mission(
        body=ao.mars(), site=ao.LaunchSite(latitude=22 * deg, altitude=-1.5 * km),
        orbit=ao.CircularOrbit(altitude=350 * km, inclination=15 * deg),
        limits=ao.FlightLimits(axial_acceleration=3 * g0, dynamic_pressure=3 * kPa),
    )  # fmt: skip
    ascent = ao.optimize(vehicle, mission)
    times = [event.time for event in ascent.events]
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    assert min(later - earlier for earlier, later in pairwise(times)) > INSTANT


def test_a_stage_that_burns_all_it_has_is_not_said_to_be_cut_off_early() -> None:
    case, plan = Case(three_stages((0.0, 0.0)), moon_mission()), replace(BASE, cut_early=(0,))
    assert [move.plan for move in depletions(_burned(case, plan, left=0.0))] == [BASE]
    assert not [*depletions(_burned(case, plan, left=1.0))]


def _burned(case: Case, plan: FlightPlan, left: float) -> Attempt:
    """A flight whose stages end with so many kg to spare."""
    arcs = sequence_of(case.vehicle, case.mission, plan).arcs
    masses = [(arc.least_mass + left,) * 2 for arc in arcs]
    return told(case, plan, [10.0] * len(arcs), masses)


@pytest.mark.parametrize("delay", [0.0, 3.0])
@pytest.mark.parametrize("kind", SIMPLER)
def test_what_has_no_length_is_left_out(kind: str, delay: float) -> None:
    name, plan, simpler = SIMPLER[kind]
    assert of_arc(three_stages((delay, delay)), plan, name).plans == [simpler]


@pytest.mark.parametrize("kind", SIMPLER)
def test_what_is_brief_is_left_out_only_where_that_is_asked_for(kind: str) -> None:
    """An arc of 20 s, where less than 40 s are called brief; by default none is."""
    name, plan, simpler = SIMPLER[kind]
    vehicle = three_stages((0.0, 0.0))
    k = sequence_of(vehicle, moon_mission(), plan).names.index(name)
    found = emptied(vehicle, plan, k, lasts=20.0)
    assert found.moves == ()
    briefly = simplifications(found.case, found.flight, 40.0)
    assert [move.plan for move in briefly] == [simpler]


def test_what_a_last_burn_of_no_length_leaves_is_left_by_an_early_end() -> None:
    """A stage that is not lit again burns to its end otherwise."""
    plan = replace(BASE, relit=(1,))
    found = of_arc(three_stages((0.0, 0.0)), plan, "second burn 2", at_first=False)
    assert found.plans == [replace(BASE, coast_before=(2,), cut_early=(1,))]


@pytest.mark.parametrize(
    ("stage", "name"), [(1, "second burn 2, bare"), (0, "first")], ids=["its end", "its beginning"]
)
def test_half_a_burn_of_no_length_is_no_burn(stage: int, name: str) -> None:
    """The fairing goes as the burn begins or ends: the burn itself lasts."""
    plan = replace(BASE, relit=(stage,), fairing_arc=name.removesuffix(", bare"))
    found = of_arc(three_stages((0.0, 0.0), fairing=True), plan, name)
    assert found.moves == ()


def test_nothing_coasts_on_the_pad() -> None:
    found = of_arc(three_stages((0.0, 0.0)), replace(BASE, relit=(0,)), "first")
    assert found.moves == ()
