"""Arcs that become one, whether their directions are among the states or the controls."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.moves.mode_insertions import InsertArc
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.warm_start.remap import Place, on_sequence, with_arcs_joined
from ascentopt.world.orbital_elements import elements
from tests.optimal.launchers import lander, moon_mission
from tests.optimal.told import told

CASE = Case(lander(), moon_mission())
GROUPS = ((0,), (1, 2, 3))
"""The vertical rise; both burns and the coast of no length between them."""


def flight(*turning: str) -> Attempt:
    """Two burns with next to nothing between them, of which some turn at a limited rate."""
    plan = FlightPlan(inserting_stage=0, restarts=1, turning_arcs=turning)
    masses = [(7500.0, 7300.0), (7300.0, 5000.0), (5000.0, 5000.0), (5000.0, 3000.0)]
    return told(CASE, plan, (15.0, 200.0, 1e-3, 180.0), masses)


TURNING = {
    "neither": (),
    "the first": ("ascent",),
    "the second": ("ascent burn 2",),
    "both": ("ascent", "ascent burn 2"),
}


@pytest.mark.parametrize("which", TURNING)
def test_burns_are_joined_whichever_of_them_turn_at_a_limited_rate(which: str) -> None:
    turning = TURNING[which]
    start = with_arcs_joined(flight(*turning).found, GROUPS)
    assert [len(start.meshes), len(start.guess.arcs)] == [2, 2]
    rise, burn = start.guess.arcs
    np.testing.assert_allclose(start.guess.instants, [0.0, 15.0, 395.001], atol=1e-9)
    assert rise.states.shape[1] == MASS + 1
    turns = len(turning) == 2
    assert burn.states.shape[1] == MASS + 1 + 3 * turns
    assert burn.controls.shape[1] == 3
    assert [burn.states[0, MASS], burn.states[-1, MASS]] == [7300.0, 3000.0]


@pytest.mark.parametrize("which", TURNING)
@pytest.mark.parametrize("after", [(), ("ascent",)], ids=["free", "limited"])
def test_what_is_joined_starts_the_plan_of_one_burn(which: str, after: tuple[str, ...]) -> None:
    """The direction itself is kept: in the control of the one, the state of the other."""
    start = with_arcs_joined(flight(*TURNING[which]).found, GROUPS)
    plan = FlightPlan(inserting_stage=0, turning_arcs=after)
    sequence = sequence_of(CASE.vehicle, CASE.mission, plan)
    burn = on_sequence(sequence, start).guess.arcs[1]
    directions = burn.states[:, MASS + 1 :] if after else burn.controls
    np.testing.assert_allclose(directions, np.tile([1.0, 0.0, 0.0], (len(directions), 1)))
    if after:
        np.testing.assert_allclose(burn.controls, 0.0, atol=1e-12)


@pytest.mark.parametrize("share", [0.3, 0.62])
def test_a_coast_that_a_burn_is_put_into_keeps_to_its_orbit(share: float) -> None:
    """On both sides, wherever the new meshes have their nodes; chords between the old ones do not.

    The bulge of the Moon alone moves the size of the orbit by a hundred metres or so.
    """
    attempt = attempt_at(
        task_of(CASE.vehicle, CASE.mission), FlightPlan(inserting_stage=0, restarts=1)
    )
    coast = next(k for k, arc in enumerate(attempt.sequence.arcs) if not arc.burning)
    thrice = FlightPlan(inserting_stage=0, restarts=2)
    sequence = sequence_of(replace(CASE.vehicle, stages=(twice_restarted(),)), CASE.mission, thrice)
    move = InsertArc(thrice, 1.0, "a burn", Place(coast, share))
    start = move.start(attempt, sequence)
    assert start is not None
    mu = CASE.mission.body.gravitational_parameter
    own = attempt.found.arcs[coast]
    axis = elements(mu, own.states[0, :3], own.states[0, 3:6]).semi_major_axis
    for k in (coast, coast + 2):
        states = start.guess.arcs[k].state_at(start.meshes[k].fractions())
        sizes = [elements(mu, state[:3], state[3:6]).semi_major_axis for state in states]
        np.testing.assert_allclose(sizes, axis, rtol=1e-3)


def twice_restarted() -> ao.Stage:
    return replace(CASE.vehicle.stages[0], restarts=2)
