"""The main job in units of a bare script: ``OMP_NUM_THREADS=1 python -m benchmarks.pace``.

A second depends on the machine and on who else uses it, so all is told as a ratio to
``benchmarks.bare_launcher``, which builds and solves the four-phase launcher from a flight near it.
What is compared takes turns in one process; first calls are made in fresh processes, each of which
runs the bare script as well. Seconds are those of the processor, ratios those of medians.
"""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from functools import partial
from statistics import median
from time import process_time

import ascentopt as ao
from ascentopt.units import STANDARD_GRAVITY, deg, kPa
from benchmarks.bare_launcher import build_and_solve, good_guess
from benchmarks.first_ascent import machine, versions
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.optimal.launchers import four_phase_launcher, four_phase_mission

ROUNDS = 3

BARE, LAUNCHER, EXAMPLE = "bare script", "four-phase launcher, again", "example, again"
MANY = "example within 35 kPa, 5 g, 6 deg, 2 deg/s, 1 kPa at the staging"
TWO = "example within 30 kPa and 4 g, its first stage throttling to a half"

LIMITS = {
    MANY: ao.FlightLimits(
        dynamic_pressure=35 * kPa,
        axial_acceleration=5 * STANDARD_GRAVITY,
        angle_of_attack=6 * deg,
        pitch_rate=2 * deg,
        staging_dynamic_pressure=1 * kPa,
    ),
    TWO: ao.FlightLimits(dynamic_pressure=30 * kPa, axial_acceleration=4 * STANDARD_GRAVITY),
}

FRESH = """
from time import process_time
begun = process_time()
import ascentopt as ao
imported = process_time()
from tests.launchers import PELICAN_POINT, TURNSTONE
called = process_time()
ao.optimize(TURNSTONE, PELICAN_POINT)
done = process_time()
from benchmarks.pace import bare_seconds
print(imported - begun, done - called, bare_seconds())
"""


@dataclass(frozen=True)
class Row:
    """One line of the report: what, s, in units of what, how many of them, how many at most."""

    name: str
    seconds: float
    unit: str
    ratio: float
    wanted: float

    def __str__(self) -> str:
        return (
            f"| {self.name} | {self.seconds:.3f} | {self.ratio:.2f} x {self.unit} | "
            f"{self.wanted:g} |"
        )


def main() -> None:
    """Print the table as Markdown."""
    print(f"{machine()}. {versions()}. Seconds of the processor, medians of {ROUNDS}.\n")
    print("| | s | ratio | wanted at most |\n|---|---:|---:|---:|")
    for row in report():
        print(row)


def report() -> list[Row]:
    """All that is measured."""
    imported, first, beside = first_calls()
    seconds = in_turn(jobs())
    bare, plain = seconds[BARE], seconds[EXAMPLE]
    return [
        Row(BARE, bare, "itself", 1.0, 1.0),
        Row(LAUNCHER, seconds[LAUNCHER], "bare", seconds[LAUNCHER] / bare, 0.6),
        Row(f"example, first call (import: {imported:.2f} s)", first, "bare", first / beside, 5.0),
        Row(EXAMPLE, plain, "bare", plain / bare, 3.0),
        *(Row(name, seconds[name], "plain", seconds[name] / plain, 2.0) for name in LIMITS),
    ]


def jobs() -> dict[str, Callable[[], object]]:
    """What is repeated, by name."""
    guess = good_guess()
    vehicle, mission = four_phase_launcher(), four_phase_mission()
    found: dict[str, Callable[[], object]] = {
        BARE: lambda: build_and_solve(guess),
        LAUNCHER: lambda: ao.optimize(vehicle, mission),
        EXAMPLE: lambda: ao.optimize(TURNSTONE, PELICAN_POINT),
    }
    for name, limits in LIMITS.items():
        rocket = throttling() if name == TWO else TURNSTONE
        found[name] = partial(ao.optimize, rocket, replace(PELICAN_POINT, limits=limits))
    return found


def throttling() -> ao.Vehicle:
    """The example's rocket, which keeps to no such limits at full throttle, with one that does."""
    first, second = TURNSTONE.stages
    assert isinstance(first.engine, ao.Engine)
    engine = replace(first.engine, min_throttle=0.5)
    return replace(TURNSTONE, stages=(replace(first, engine=engine), second))


def in_turn(work: Mapping[str, Callable[[], object]], rounds: int = ROUNDS) -> dict[str, float]:
    """Median seconds of each, after a call of each that is not counted."""
    for one in work.values():
        one()
    taken = [{name: _timed(one) for name, one in work.items()} for _ in range(rounds)]
    return {name: median(turn[name] for turn in taken) for name in work}


def bare_seconds() -> float:
    """Median seconds of the bare script."""
    guess = good_guess()
    return in_turn({BARE: lambda: build_and_solve(guess)})[BARE]


def first_calls() -> tuple[float, float, float]:
    """Median seconds of the import, of the first call of the example, of the bare script."""
    command = [sys.executable, "-c", FRESH]
    rows = []
    for _ in range(ROUNDS):
        done = subprocess.run(command, capture_output=True, text=True, check=True)
        rows.append([float(word) for word in done.stdout.split()])
    imported, first, bare = (median(column) for column in zip(*rows, strict=True))
    return imported, first, bare


def _timed(work: Callable[[], object]) -> float:
    begun = process_time()
    work()
    return process_time() - begun


if __name__ == "__main__":
    main()
