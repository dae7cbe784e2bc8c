"""A solved flight told with the fairing dropped in another arc."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import direct
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import mission_solver_of
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved
from benchmarks.survey.generator import case
from examples.first_ascent import PELICAN_POINT, TURNSTONE

FAIRING = TURNSTONE.fairing_mass


@pytest.fixture(scope="module")
def attempt() -> Attempt:
    solver = mission_solver_of(TURNSTONE, PELICAN_POINT)
    return solver.attempt(direct(TURNSTONE))


@pytest.mark.parametrize("arc", ["first", "coast to second", "second"])
def test_it_is_the_same_flight_but_for_the_fairing(attempt: Attempt, arc: str) -> None:
    new = sequence_of(TURNSTONE, PELICAN_POINT, replace(attempt.plan, fairing_arc=arc))
    told = with_drop_moved(attempt.found, attempt.sequence, new, FAIRING)
    assert told is not None
    guess, old = told.guess, attempt.found.as_guess()
    assert len(guess.arcs) == len(new.arcs) == len(told.meshes)
    assert guess.instants[[0, -1]] == pytest.approx(old.instants[[0, -1]])
    for arc_before, arc_after, joint in zip(
        guess.arcs, guess.arcs[1:], (one.joint for one in new.arcs), strict=False
    ):
        ends, begins = arc_before.states[-1], arc_after.states[0]
        np.testing.assert_allclose(begins[:6], ends[:6], rtol=1e-9)
        if joint.fairing:
            after = ends[MASS] - FAIRING
            expected = after if joint.mass_after is None else joint.mass_after
            assert begins[MASS] == pytest.approx(expected, rel=1e-6)
    assert guess.arcs[0].states[0, MASS] == pytest.approx(new.mass)
    assert guess.arcs[-1].states[-1, MASS] == pytest.approx(old.arcs[-1].states[-1, MASS])


@pytest.mark.slow
def test_a_piece_of_microseconds_tells_nothing() -> None:
    """The fairing goes as the burn ends: points of the piece after it fall together in a share."""
    drawn = case(46)
    ascent = ao.optimize(drawn.vehicle, drawn.mission)
    assert ascent.certificate.verdict is Verdict.CERTIFIED
    told = [line for one in ascent.candidates for line in one.history]
    assert any("fairing drop moved to" in line for line in told)
