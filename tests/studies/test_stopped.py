"""A real signal from the keyboard, and the clock: studies end and keep what is finished.

How soon is measured by `python -m benchmarks.stops`: within a second, on a machine that is free.
"""

from __future__ import annotations

import pytest

from benchmarks.stops import STUDIES, stopped_by_a_signal

_SOON = 10.0  # s, on whatever machine: what is asked of a test is that it ends at all

_KEPT = {
    "optimize": "Ascent",
    "max_payload": "MaxPayload",
    "size": "Sizing",
    "compare": "Comparison",
    "compare, unsolved": "Comparison",
    "best_gravity_turn": "RuleOutcome",
    "simplify_curve": "SimplerCurve",
    "cost_map": "CostMap",
    "disperse": "DispersedFlights",
    "sweep": "Sweep",
    "robust_programme": "RobustProgramme",
}
"""What is carried once something is finished."""

_ANYTHING = {"optimize, refused", "valley", "simplify", "deorbit"}
"""Nothing is finished before their end, or it hangs on the instant what is."""


def test_every_study_is_stopped() -> None:
    assert set(_KEPT) | _ANYTHING == set(STUDIES)


@pytest.mark.slow
@pytest.mark.parametrize("study", _KEPT)
def test_a_signal_ends_a_study_with_what_is_finished(study: str) -> None:
    stop = stopped_by_a_signal(study, None)
    assert (stop.error, stop.kept, stop.told) == ("Interrupted", _KEPT[study], "")
    assert stop.seconds < _SOON


@pytest.mark.slow
@pytest.mark.parametrize("study", sorted(_ANYTHING))
def test_a_signal_ends_a_study_that_has_nothing_yet(study: str) -> None:
    stop = stopped_by_a_signal(study, 0.5)
    assert (stop.error, stop.told) == ("Interrupted", "")
    assert stop.seconds < _SOON
