"""A real signal from the keyboard: studies end within about a second and keep what is finished."""

from __future__ import annotations

import signal
import subprocess
import sys
from time import monotonic, sleep

import pytest

_BEGIN = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
import ascentopt as ao
from ascentopt.scenarios import scenarios
one = scenarios()["pebble-strong-first"]
ascent = ao.optimize(one.vehicle, one.mission)
finished = []
def flown(so_far):
    finished.append(so_far)
print("begun", flush=True)
try:
    {study}
except KeyboardInterrupt as stop:
    print("stopped", {kept}, flush=True)
else:
    print("ended", flush=True)
"""

_GRID = "across=[0.02 + 0.005 * k for k in range(40)], upward=[40.0 + 2.0 * k for k in range(40)]"
_MAP = f"ao.cost_map(ascent, ao.KickRule(), ao.Circularise(), {_GRID}, progress=flown)"
_STUDIES = {
    "compare": (
        "ao.compare(one.vehicle, one.mission, ascent=ascent)",
        "len(stop.best.outcomes)",
    ),
    "best_gravity_turn": (
        "[ao.best_gravity_turn(ascent) for _ in range(9)]",
        "1 + len(stop.best.outcomes)",
    ),
    # Of one programme nothing is finished before the end.
    "simplify": ("[ao.simplify(ascent, knots=9) for _ in range(9)]", "1"),
    "simplify_curve": (
        "ao.simplify_curve(ascent, progress=flown)",
        "len(stop.best) and len(finished[-1])",
    ),
    "cost_map": (_MAP, "len(stop.best.flown) and len(finished[-1].flown)"),
}
_AFTER = 1.5  # s, when something is finished and much is left
_SOON = 1.5  # s, on a busy machine


@pytest.mark.slow
@pytest.mark.parametrize("name", _STUDIES)
def test_a_signal_ends_a_study_soon_with_what_is_finished(name: str) -> None:
    study, kept = _STUDIES[name]
    code = _BEGIN.format(study=study, kept=kept)
    with subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    ) as running:
        assert running.stdout is not None
        assert running.stdout.readline() == "begun\n"
        sleep(_AFTER)
        running.send_signal(signal.SIGINT)
        sent = monotonic()
        told, fault = running.communicate(timeout=60.0)
    assert monotonic() - sent < _SOON
    word, *count = told.split()
    assert word == "stopped", (told, fault)
    assert int(count[0]) >= 1
    assert running.returncode == 0
