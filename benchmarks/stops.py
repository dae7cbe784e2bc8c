"""How soon Ctrl-C and a limit on time end each study, and with what: `python -m benchmarks.stops`.

A study is repeated in a process of its own until a real signal arrives, at an instant drawn anew
each time. Told are seconds from the signal to the end of the process, which takes about 0.1 s by
itself, and what the error carried. `--limits` gives each a limit on time instead, and tells by how
many seconds it was overrun, the making of what is carried included.
"""

from __future__ import annotations

import argparse
import random
import signal
import subprocess
import sys
from collections import Counter
from dataclasses import dataclass
from time import monotonic, sleep

_GRID = "across=[0.02 + 0.005 * k for k in range(40)], upward=[40.0 + 2.0 * k for k in range(40)]"
_MASSES = "dict(payload_mass=[0.01 * k * one.vehicle.payload_mass for k in range(70, 100)])"
_HEAVY = "replace(one.vehicle, payload_mass=2.0 * one.vehicle.payload_mass), one.mission"

_SIZED = (
    "free=[ao.FreePropellant(stage=s.name, least=0.3 * s.propellant_mass, most=3.0 * "
    "s.propellant_mass) for s in one.vehicle.stages], laws=[ao.StructuralLaw.through(one.vehicle, "
    "s.name, per_propellant=0.05) for s in one.vehicle.stages], objective=ao.LeastLiftOffMass()"
)

STUDIES = {
    "optimize": "ao.optimize(one.vehicle, one.mission{})",
    "optimize, refused": f"ao.optimize({_HEAVY}{{}})",
    "max_payload": "ao.max_payload(one.vehicle, one.mission{})",
    "size": f"ao.size(one.vehicle, one.mission, {_SIZED}{{}})",
    "compare": "ao.compare(one.vehicle, one.mission, ascent=ascent{})",
    "compare, unsolved": "ao.compare(one.vehicle, one.mission{})",
    "best_gravity_turn": "ao.best_gravity_turn(ascent{})",
    "valley": "ao.valley(ascent, kick{})",
    "simplify": "ao.simplify(ascent, knots=9{})",
    "simplify_curve": "ao.simplify_curve(ascent{})",
    "cost_map": f"ao.cost_map(ascent, ao.KickRule(), ao.Circularise(), {_GRID}{{}})",
    "disperse": "ao.disperse(ascent, scatter, count=100000{})",
    "robust_programme": "ao.robust_programme(ascent, scatter, draws=ao.TuningDraws(tuned=400){})",
    "sweep": f"ao.sweep(one.vehicle, one.mission, {_MASSES}{{}})",
    "deorbit": "ao.deorbit(ascent, periapsis_altitude=0.9 * height{})",
}
"""Calls, with a place for more arguments."""

_BEGIN = """
import signal, sys
from dataclasses import replace
from time import monotonic
signal.signal(signal.SIGINT, signal.default_int_handler)
import ascentopt as ao
from ascentopt.scenarios import scenarios
one = scenarios()["{scenario}"]
again = max(stage.restarts for stage in one.vehicle.stages) + 1
one = replace(one, vehicle=replace(one.vehicle, stages=(*one.vehicle.stages[:-1],
    replace(one.vehicle.stages[-1], restarts=again))))
ascent = ao.optimize(one.vehicle, one.mission)
kick = ao.best_gravity_turn(ascent) if "{study}".startswith("ao.valley") else None
scatter = [ao.IspDispersion(one.vehicle.stages[-1].name, ao.Normal(0.003))]
air = one.mission.body.atmosphere
height = 5000.0 if air is None else air.ceiling
def told(step):
    if step.done and step.so_far is not None:
        print("finished", flush=True)
print("begun", flush=True)
begin = monotonic()
try:
    while True:
        try:
            begin = monotonic()
            {study}
        except ao.InfeasibleAscent:
            pass
except (KeyboardInterrupt, ao.OutOfTime) as stop:
    kind = type(getattr(stop, "best", "bare")).__name__
    print("stopped", type(stop).__name__, kind, monotonic() - begin, flush=True)
"""


@dataclass(frozen=True, kw_only=True)
class Stop:
    """How a study ended.

    Attributes:
        error, kept: names of the classes of the error and of what it carried.
        seconds: from the signal to the end of the process; or from the call to the error.
        told: what stood on standard error.
    """

    error: str
    kept: str
    seconds: float
    told: str


def stopped_by_a_signal(
    study: str, after: float | None, scenario: str = "pebble-strong-first"
) -> Stop:
    """Send a signal so many seconds after a study was begun; None for when it has a result."""
    arguments = ", progress=told" if after is None else ""
    with _begun(STUDIES[study].format(arguments), scenario) as running:
        if after is None:
            _wait_for(running, "finished")
        else:
            sleep(after)
        running.send_signal(signal.SIGINT)
        sent = monotonic()
        told, fault = running.communicate(timeout=120.0)
        return _stop(told, fault, monotonic() - sent)


def stopped_by_the_clock(study: str, limit: float, scenario: str = "pebble-strong-first") -> Stop:
    """Repeat a study with a limit on time that is too short for it; by how much it is overrun."""
    code = STUDIES[study].format(f", time_limit={limit!r}")
    with _begun(code, scenario) as running:
        told, fault = running.communicate(timeout=600.0)
        return _stop(told, fault, float(told.split()[-1]) - limit)


def _begun(study: str, scenario: str) -> subprocess.Popen[str]:
    code = _BEGIN.format(study=study, scenario=scenario)
    running = subprocess.Popen(
        [sys.executable, "-c", code], stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True
    )
    _wait_for(running, "begun")
    return running


def _wait_for(running: subprocess.Popen[str], word: str) -> None:
    if running.stdout is None or running.stdout.readline() != f"{word}\n":
        raise RuntimeError(f"no study was {word}: {running.communicate()[1]}")


def _stop(told: str, fault: str, seconds: float) -> Stop:
    *_, last = told.splitlines() or [""]
    error, kept = last.split()[1:3] if last.startswith("stopped") else ("crashed", "nothing")
    return Stop(error=error, kept=kept, seconds=seconds, told=fault)


def _table(name: str, stops: list[Stop]) -> str:
    seconds = sorted(one.seconds for one in stops)
    kinds = Counter(f"{one.error}({one.kept})" for one in stops)
    noise = sum(bool(one.told) for one in stops)
    ends = ", ".join(f"{kind} {count}" for kind, count in kinds.most_common())
    middle, most = seconds[len(seconds) // 2], seconds[-1]
    return f"{name:20} median {middle:5.2f} s, most {most:5.2f} s; {noise} with noise; {ends}"


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--times", type=int, default=5, help="signals to each study")
    parser.add_argument("--within", type=float, default=4.0, help="s in which they fall")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--scenario", default="pebble-strong-first")
    parser.add_argument("--limits", action="store_true", help="limits on time, not signals")
    parser.add_argument("studies", nargs="*", default=list(STUDIES))
    chosen = parser.parse_args()
    dice = random.Random(chosen.seed)
    stop = stopped_by_the_clock if chosen.limits else stopped_by_a_signal
    for study in chosen.studies:
        instants = [chosen.within * dice.random() for _ in range(chosen.times)]
        stops = [stop(study, instant, chosen.scenario) for instant in instants]
        print(_table(study, stops), flush=True)
        for one in stops:
            if one.told:
                print(one.told[-2000:], flush=True)


if __name__ == "__main__":
    main()
