"""Time and accuracy of the flights by which rules are tuned: ``python -m benchmarks.rule_flights``.

Medians of processor time, since other processes do not count in it. A flight is the whole way from
the pad into the orbit; a closed flight includes the search for its insertion.
"""

from __future__ import annotations

import platform
from collections.abc import Callable
from importlib.metadata import version
from statistics import median
from time import process_time

import numpy as np

import ascentopt as ao
from ascentopt.flight.builder import sequence_of
from ascentopt.flight.quick import QuickFlight
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.rules.insertion import Circularise, Insertion, LinearTangentInsertion
from ascentopt.rules.kick import KickRule
from ascentopt.rules.tuning import tune
from ascentopt.units import deg
from examples.first_ascent import PELICAN_POINT, TURNSTONE
from tests.studies.wren import MISSION, VEHICLE

REPEATS = 20


def main() -> None:
    """Print one report."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("casadi", "numpy", "scipy"))
    print(f"Python {platform.python_version()}, {packages}, {platform.machine()}\n")
    print(
        f"{'':44}{'flight':>9}{'closed':>9}{'tuned':>9}{'tries':>7}{'miss of the simulator':>25}\n"
        f"{'':44}{'ms':>9}{'ms':>9}{'s':>9}{'':7}{'m':>14}{'m/s':>11}"
    )
    report(TURNSTONE, PELICAN_POINT, LinearTangentInsertion(), (60.0, 3.8 * deg))
    report(VEHICLE, MISSION, Circularise(), (63.0, 9.5 * deg))


def report(
    vehicle: ao.Vehicle, mission: ao.Mission, insertion: Insertion, values: tuple[float, float]
) -> None:
    """One line of the report."""
    rule = RuleFlight(vehicle=vehicle, mission=mission, rule=KickRule(), insertion=insertion)
    closed = rule.at(values)
    sequence = sequence_of(vehicle, mission, closed.law.plan)
    quick = QuickFlight(sequence, closed.law, fairing_heating=vehicle.max_heating)
    flight = timed(lambda: quick.fly(quick.start()), REPEATS)
    closing = timed(lambda: rule.at(values), REPEATS)
    began = process_time()
    found = tune(rule)
    tuning = process_time() - began
    metres, speed = miss(vehicle, mission, closed)
    print(
        f"{vehicle.name + ', ' + insertion.name:44}{1e3 * flight:9.1f}{1e3 * closing:9.1f}"
        f"{tuning:9.2f}{found.tries:7}{metres:14.1e}{speed:11.1e}"
    )


def timed(work: Callable[[], object], repeats: int) -> float:
    """Median of processor time, s."""
    times = []
    for _ in range(repeats):
        began = process_time()
        work()
        times.append(process_time() - began)
    return median(times)


def miss(vehicle: ao.Vehicle, mission: ao.Mission, closed: Closed) -> tuple[float, float]:
    """Difference to the independent simulator at the end, m and m/s."""
    change = ao.fly(vehicle, mission, closed.law).final_state - closed.end.state
    return float(np.linalg.norm(change[:3])), float(np.linalg.norm(change[3:6]))


if __name__ == "__main__":
    main()
