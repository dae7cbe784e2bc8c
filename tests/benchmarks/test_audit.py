"""The audit by random starts: what it changes, what it counts, and the launchers under it."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.collocation import ArcGuess, Guess
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import direct
from ascentopt.optimal.guess.family_search import InitialGuess
from ascentopt.units import deg
from benchmarks.survey.audit import BEATEN, Disturbance, Finding, audit, audit_table
from benchmarks.survey.draw import Draw
from tests.optimal.launchers import (
    earth_mission,
    four_phase_launcher,
    four_phase_mission,
    lander,
    moon_mission,
)
from tests.optimal.problem.test_limits import vehicle

FINDING = Finding(
    seed=7, label="Earth, liquid", plan="direct insertion", used=1000.0, best=998.0,
    best_plan="burn, coast, burn", arrived=12, starts=20, apart=3,
)  # fmt: skip


def plain_guess() -> tuple[Sequence, Guess]:
    """Each arc a minute long, the thrust along y, above the pad on x."""
    sequence = sequence_of(vehicle(0.5), earth_mission(), direct(vehicle(0.5)))
    arcs = []
    for arc in sequence.arcs:
        controls = [[0.0, 1.0, 0.0]] if arc.kind.guidance is Guidance.STEERED else [[]]
        throttle = [1.0] if arc.kind.throttled else []
        states = np.tile([6.4e6, 0.0, 0.0, 0.0, 1.0, 0.0, 1e4], (3, 1))
        arcs.append(ArcGuess(np.linspace(0, 1, 3), states, np.array([controls[0] + throttle] * 3)))
    return sequence, Guess(60.0 * np.arange(len(arcs) + 1.0), tuple(arcs), np.zeros(3))


def test_a_disturbance_turns_stretches_and_throttles() -> None:
    sequence, guess = plain_guess()
    change = Disturbance(start=InitialGuess(), tilt=(0.0, 20 * deg), stretch=2.0, throttle=0.7)
    other = change(sequence, guess)
    assert np.diff(other.instants) == pytest.approx([120.0] * len(sequence.arcs))
    for arc, own in zip(sequence.arcs, other.arcs, strict=True):
        if arc.kind.guidance is Guidance.STEERED:
            assert own.controls[0, :3] == pytest.approx([0.0, 1.0, 0.0])
            assert own.controls[-1, 0] == pytest.approx(np.sin(20 * deg))
            assert np.linalg.norm(own.controls[:, :3], axis=1) == pytest.approx(1.0)
        if arc.kind.throttled:
            assert own.controls[:, -1] == pytest.approx(0.7)


def test_arcs_of_fixed_length_keep_it() -> None:
    launcher = four_phase_launcher()
    sequence = sequence_of(launcher, four_phase_mission(), direct(launcher))
    state, up = [[6.4e6, 0.0, 0.0, 0.0, 1.0, 0.0, 1e4]] * 2, [[1.0, 0.0, 0.0]] * 2
    ends = np.array([0.0, 1.0])
    arcs = tuple(ArcGuess(ends, np.array(state), np.array(up)) for _ in sequence.arcs)
    guess = Guess(np.array([0.0, 75.2, 150.4, 261.0, 900.0]), arcs, np.zeros(3))
    change = Disturbance(start=InitialGuess(), tilt=(0.0, 0.0), stretch=0.5, throttle=1.0)
    instants = change(sequence, guess).instants
    assert instants[:3] == pytest.approx([0.0, 75.2, 150.4])
    assert instants[-1] < 900.0


def test_the_same_seed_draws_the_same_disturbance() -> None:
    first, second = Disturbance.drawn(Draw(3)), Disturbance.drawn(Draw(3))
    assert first == second != Disturbance.drawn(Draw(4))


def test_beaten_is_more_than_a_thousandth_of_the_propellant() -> None:
    assert FINDING.gain == pytest.approx(2e-3)
    assert FINDING.beaten
    assert not replace(FINDING, best=1000.0 * (1.0 - 0.9 * BEATEN)).beaten
    assert not replace(FINDING, best=None).beaten
    assert replace(FINDING, used=None, plan="refused").beaten  # what was refused does fly


def test_the_table_marks_what_is_beaten() -> None:
    text = audit_table([FINDING, replace(FINDING, seed=8, best=1000.0)], "Title")
    assert "2 cases, 2 of which fly" in text
    assert "in 1." in text
    assert [line.endswith("beaten |") for line in text.splitlines()[-2:]] == [True, False]


def test_a_finding_survives_the_journal() -> None:
    assert Finding.from_json(FINDING.to_json()) == FINDING
    assert Finding.from_json(replace(FINDING, used=None, best=None).to_json()).gain is None


@pytest.mark.long
@pytest.mark.parametrize(
    ("of", "mission"),
    [
        (four_phase_launcher(), four_phase_mission()),
        (vehicle(), earth_mission(q_alpha=None)),
        (lander(), moon_mission()),
    ],
    ids=["four phases", "two stages", "lander"],
)
def test_no_random_start_beats_the_default_answer(of: ao.Vehicle, mission: ao.Mission) -> None:
    finding = audit(of, mission, seed=1, label="")
    assert finding.arrived >= 3
    assert not finding.beaten, finding
