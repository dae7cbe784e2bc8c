"""What is cut out of a first stage's burn keeps the mesh that the air asks for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.collocation import RadauMesh
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.guess.first_mesh import (
    BRIEF_BURN,
    IN_AIR,
    MOST_IN_AIR,
    first_mesh,
    mesh_of_part,
    mesh_outside,
    outgrown,
)
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_from_first_guess
from ascentopt.optimal.warm_start.remap import Place, coast_from, with_arc
from ascentopt.world.gravity import surface_time_scale
from tests.optimal.launchers import earth_mission, moon_mission, small_launcher

LENGTHS = st.floats(0.01, 2000.0)
LIT_AGAIN = FlightPlan(inserting_stage=1, relit=(0,))


def relit() -> ao.Vehicle:
    """A launcher whose first stage can be lit again."""
    first, second = small_launcher().stages
    return replace(small_launcher(), stages=(replace(first, restarts=1), second))


@cache
def arcs(mission: ao.Mission) -> dict[str, FlightArc]:
    """The free arcs of a flight whose first stage is lit again, by name."""
    sequence = sequence_of(relit(), mission, LIT_AGAIN)
    return {arc.name: arc for arc in sequence.arcs if arc.rise is None and not arc.fixed}


def of_stage(mission: ao.Mission, stage: int) -> list[FlightArc]:
    found = [arc for arc in arcs(mission).values() if arc.stage == stage]
    assert found
    return found


@given(LENGTHS)
def test_a_part_of_the_first_burn_has_as_many_intervals_as_its_length_in_the_air_asks_for(
    length: float,
) -> None:
    """However brief it is: its intervals are no longer than those of the whole burn."""
    burns = [arc for arc in of_stage(earth_mission(), 0) if arc.burning]
    assert len(burns) == 2
    step = IN_AIR * surface_time_scale(ao.earth())
    for arc in burns:
        mesh = mesh_of_part(arc, length)
        assert mesh == first_mesh(arc, length)
        assert mesh != BRIEF_BURN
        count = len(mesh.degrees)
        assert count == MOST_IN_AIR or length / count <= step


@given(LENGTHS)
def test_where_no_air_bends_it_a_part_is_meshed_as_any_arc_outside(length: float) -> None:
    upper = of_stage(earth_mission(), 1)
    without_air = [arc for k in (0, 1) for arc in of_stage(moon_mission(), k)]
    for arc in (*upper, *without_air):
        assert mesh_of_part(arc, length) == mesh_outside(arc, length)


@given(LENGTHS)
def test_a_mesh_made_for_a_length_is_not_outgrown_by_it(length: float) -> None:
    for mission in (earth_mission(), moon_mission()):
        for arc in arcs(mission).values():
            assert not outgrown(arc, mesh_of_part(arc, length), length)


def test_a_burn_in_the_air_outgrows_a_mesh_of_less_than_half_its_intervals() -> None:
    """The same burn without air does not: there two intervals serve well for a minute."""
    coarse = RadauMesh.uniform(intervals=2, degree=4)
    (low, *_), (bare, *_) = of_stage(earth_mission(), 0), of_stage(moon_mission(), 0)
    length = 7.0 * IN_AIR * surface_time_scale(ao.earth())
    assert len(first_mesh(low, length).degrees) == 7
    assert outgrown(low, coarse, length)
    assert not outgrown(low, RadauMesh.uniform(intervals=4, degree=4), length)
    assert not outgrown(bare, coarse, length)


def test_a_free_coast_outgrows_a_mesh_of_less_than_half_its_intervals() -> None:
    """Two intervals are too few for half a revolution: heating peaks between their nodes."""
    coast = next(arc for arc in arcs(moon_mission()).values() if arc.free_coast)
    short, long = (share * surface_time_scale(ao.moon()) for share in (0.4, 3.7))
    assert outgrown(coast, mesh_of_part(coast, short), long)
    assert not outgrown(coast, mesh_of_part(coast, 0.7 * long), long)


@pytest.mark.parametrize("share", [0.3, 0.97])
def test_a_coast_put_into_the_first_burn_leaves_both_its_parts_a_mesh_for_the_air(
    share: float,
) -> None:
    """On few intervals the second part climbed through the thickest air between two nodes."""
    task = task_of(relit(), replace(earth_mission(), limits=ao.FlightLimits.none()))
    flight = attempt_from_first_guess(task, FlightPlan(inserting_stage=1)).found
    sequence = sequence_of(relit(), task.mission, LIT_AGAIN)
    k = next(j for j, arc in enumerate(sequence.arcs) if arc.burning and arc.rise is None)
    own = flight.arcs[k]
    at, state = float(own.times[0]) + share * own.duration, own.state_at(np.array([share]))[0]
    coast, length = coast_from(sequence.arcs[k + 1], state, at)
    start = with_arc(flight, sequence, Place(k, share), coast, length)
    before, after = (start.meshes[j] for j in (k, k + 2))
    assert before == first_mesh(sequence.arcs[k], share * own.duration)
    assert after == first_mesh(sequence.arcs[k + 2], (1.0 - share) * own.duration)
