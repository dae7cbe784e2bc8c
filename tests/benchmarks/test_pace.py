"""The yardstick of speed solves the published problem by itself, and what is timed takes turns."""

from __future__ import annotations

import subprocess
import sys

import pytest

from benchmarks.bare_launcher import build_and_solve, good_guess
from benchmarks.pace import in_turn

PUBLISHED = 7529.712412
"""kg, J. T. Betts, *Practical Methods for Optimal Control*, 2nd ed., SIAM 2010, sec. 6.15."""


def test_the_bare_script_finds_the_published_mass_from_its_guess() -> None:
    answer = build_and_solve(good_guess())
    assert answer.solved
    assert answer.final_mass == pytest.approx(PUBLISHED, rel=1e-7)


def test_the_guess_is_near_the_answer_and_not_the_answer() -> None:
    guess = good_guess()
    answer = build_and_solve(guess)
    away = abs(answer.x - guess)
    assert 1e-3 < away.max() < 0.3
    assert answer.iterations > 3


def test_the_bare_script_brings_nothing_of_the_library_along() -> None:
    script = "import sys, benchmarks.bare_launcher; print('ascentopt' in sys.modules)"
    command = [sys.executable, "-c", script]
    done = subprocess.run(command, capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "False"


def test_what_is_timed_takes_turns_after_a_call_that_does_not_count() -> None:
    called: list[str] = []
    found = in_turn({name: lambda name=name: called.append(name) for name in "ab"}, rounds=2)  # type: ignore[misc]
    assert called == ["a", "b"] * 3
    assert set(found) == {"a", "b"}
    assert all(seconds >= 0.0 for seconds in found.values())
