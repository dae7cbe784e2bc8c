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
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.ways import Circularise, LinearTangentInsertion
from ascentopt.rules.laws.kick import KickRule
from ascentopt.rules.laws.pitch_rate import PitchRateRule
from ascentopt.rules.tune.tuning import tune
from ascentopt.scenarios.vehicles import AVOCET, CURLEW, RUFF
from ascentopt.units import deg, km
from tests.launchers import PELICAN_POINT, TURNSTONE
from tests.studies.wren import MISSION, VEHICLE

FLIGHTS, TUNINGS = 20, 5


def main() -> None:
    """Print one report."""
    packages = ", ".join(f"{name} {version(name)}" for name in ("casadi", "numpy", "scipy"))
    print(f"Python {platform.python_version()}, {packages}, {platform.machine()}\n")
    print(
        f"{'':50}{'flight':>9}{'closed':>9}{'tuned':>9}{'tries':>7}{'miss of the simulator':>25}\n"
        f"{'':50}{'ms':>9}{'ms':>9}{'s':>9}{'':7}{'m':>14}{'m/s':>11}"
    )
    kick, rate = KickRule(), PitchRateRule()
    circle, tangent = Circularise(), LinearTangentInsertion()
    for vehicle, mission, rule, insertion, values in (
        (TURNSTONE, PELICAN_POINT, kick, tangent, (60.0, 3.8 * deg)),
        (VEHICLE, MISSION, kick, circle, (63.0, 9.5 * deg)),
        (AVOCET, _low(None), kick, tangent, (44.0, 5 * deg)),
        (CURLEW, _low(65 * deg), kick, circle, (25.0, 17 * deg)),
        (RUFF, _low(None), rate, circle, (52.2, 0.877 * deg)),
    ):
        report(RuleFlight(vehicle=vehicle, mission=mission, rule=rule, insertion=insertion), values)


def _low(inclination: float | None) -> ao.Mission:
    """To 250 km; with an inclination from 45 degrees of latitude."""
    latitude = -12 * deg if inclination is None else 45 * deg
    return ao.Mission(
        body=ao.earth(),
        site=ao.LaunchSite(latitude=latitude, altitude=40.0),
        orbit=ao.CircularOrbit(altitude=250 * km, inclination=inclination),
    )


def report(rule: RuleFlight, values: tuple[float, float]) -> None:
    """One line of the report."""
    vehicle, mission = rule.vehicle, rule.mission
    closed = rule.fly(values)
    sequence = sequence_of(vehicle, mission, closed.law.plan)
    quick = CompiledFlight(sequence, closed.law, fairing_heating=vehicle.max_heating)
    flight = timed(lambda: quick.fly(quick.start()), FLIGHTS)
    closing = timed(lambda: rule.fly(values), FLIGHTS)
    found = tune(rule)
    tuning = timed(lambda: tune(rule), TUNINGS)
    metres, speed = miss(vehicle, mission, closed)
    name = f"{vehicle.name}, {rule.rule.name.split()[-1]}, {rule.insertion.name}"
    print(
        f"{name:50}{1e3 * flight:9.1f}{1e3 * closing:9.1f}"
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


def miss(vehicle: ao.Vehicle, mission: ao.Mission, closed: ClosedRuleFlight) -> tuple[float, float]:
    """Difference to the independent simulator at the end, m and m/s."""
    change = ao.fly(vehicle, mission, closed.law).final_state - closed.end.state
    return float(np.linalg.norm(change[:3])), float(np.linalg.norm(change[3:6]))


if __name__ == "__main__":
    main()
