"""What many answers cost beside one: ``OMP_NUM_THREADS=1 python -m benchmarks.many``.

Ratios within one run, in seconds of the processor, as the machine serves others too: a neighbour
beside the same answer from nothing, the greatest payload beside the answer at it, a sweep of fifty
points beside one answer in its middle; and in seconds a thousand dispersed flights.
`--cluster` plays a sweep's schedule with the seconds of such answers on more and more workers
(`benchmarks/cluster.py`).
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from itertools import product
from statistics import median
from time import process_time

import numpy as np

import ascentopt as ao
from ascentopt.units import deg
from benchmarks.cluster import Seconds, table
from benchmarks.first_ascent import machine, versions
from tests.launchers import PELICAN_POINT, TURNSTONE

ROUNDS = 3

FLIGHTS = 1000

PAYLOADS, INCLINATIONS = 10, 5
"""Values along the sides of the sweep."""

LOWEST = 5 * deg
"""Of the inclinations, above the site's latitude."""

STEPS = {"1 %, 1 deg": (0.01, 1 * deg), "2 %, 5 deg": (0.02, 5 * deg)}
"""Of the payload, downwards from its own, and of the inclination, by what they are called."""

MISSIONS = ("earth-large-brisk", "earth-inclined", "mars-two-stages", "moon-two-stages-slow")


@dataclass(frozen=True, kw_only=True)
class Row:
    """One line of the report: what, in seconds, how many of one new answer, how many at most."""

    name: str
    seconds: float
    beside: float
    wanted: float

    @property
    def ratio(self) -> float:
        """Of one new answer."""
        return self.seconds / self.beside

    def __str__(self) -> str:
        return f"| {self.name} | {self.seconds:.2f} | {self.ratio:.2f} | {self.wanted:g} |"


def cases() -> Iterator[tuple[str, ao.Vehicle, ao.Mission]]:
    """The example of the README, and scenarios on four bodies."""
    yield "the example", TURNSTONE, PELICAN_POINT
    for name in MISSIONS:
        one = ao.scenarios()[name]
        yield name, one.vehicle, one.mission


def seconds_of(work: Callable[[], object]) -> float:
    """Of the processor."""
    begun = process_time()
    work()
    return process_time() - begun


def neighbour(name: str, vehicle: ao.Vehicle, mission: ao.Mission) -> Row:
    """A per cent more payload, from the ascent beside it and from nothing, in turn."""
    heavier = replace(vehicle, payload_mass=1.01 * vehicle.payload_mass)
    known = ao.optimize(vehicle, mission)
    warm, cold = [], []
    for _ in range(ROUNDS):
        warm.append(seconds_of(lambda: ao.optimize(heavier, mission, near=known)))
        cold.append(seconds_of(lambda: ao.optimize(heavier, mission)))
    what = f"neighbour, 1 % more payload: {name}"
    return Row(name=what, seconds=median(warm), beside=median(cold), wanted=0.15)


def greatest(name: str, vehicle: ao.Vehicle, mission: ao.Mission) -> Row:
    """The greatest payload beside the answer with all but it, in turn."""
    most = ao.max_payload(vehicle, mission)
    loaded = replace(vehicle, payload_mass=0.999 * most.payload)
    sought, cold = [], []
    for _ in range(ROUNDS):
        sought.append(seconds_of(lambda: ao.max_payload(vehicle, mission)))
        cold.append(seconds_of(lambda: ao.optimize(loaded, mission)))
    what = f"greatest payload: {name}"
    return Row(name=what, seconds=median(sought), beside=median(cold), wanted=1.5)


def dispersed(name: str, vehicle: ao.Vehicle, mission: ao.Mission) -> str:
    """A thousand flights whose engines, masses and air are off, in seconds."""
    ascent = ao.optimize(vehicle, mission)
    scatter = [
        ao.ThrustDispersion(vehicle.stages[0].name, ao.Normal(0.01)),
        ao.IspDispersion(vehicle.stages[-1].name, ao.Normal(0.003)),
        ao.PayloadDispersion(ao.Normal(0.003)),
    ]
    if mission.body.atmosphere is not None:
        scatter.append(ao.DensityDispersion(ao.Normal(0.03)))
    taken = seconds_of(lambda: ao.disperse(ascent, scatter, count=FLIGHTS))
    return f"| {FLIGHTS} dispersed flights: {name} | {taken:.2f} | | 30 s |"


def grid(vehicle: ao.Vehicle, mission: ao.Mission, steps: str) -> dict[str, list[float]]:
    """Fifty points of payload by inclination."""
    share, turn = STEPS[steps]
    lowest = abs(mission.site.latitude) + LOWEST
    payloads = vehicle.payload_mass * (1.0 - share * np.arange(PAYLOADS)[::-1])
    return {
        "payload_mass": payloads.tolist(),
        "orbit.inclination": [lowest + k * turn for k in range(INCLINATIONS)],
    }


def middle(
    vehicle: ao.Vehicle, mission: ao.Mission, steps: str
) -> tuple[ao.Vehicle, ao.Mission]:
    """What flies in the middle of the grid."""
    sides = grid(vehicle, mission, steps)
    mass, inclination = (side[len(side) // 2] for side in sides.values())
    orbit = replace(mission.orbit, inclination=inclination)
    return replace(vehicle, payload_mass=mass), replace(mission, orbit=orbit)


def fifty(name: str, vehicle: ao.Vehicle, mission: ao.Mission, steps: str) -> Row:
    """A sweep beside new answers in its middle, before and after it."""
    one = middle(vehicle, mission, steps)
    over = grid(vehicle, mission, steps)
    cold = [seconds_of(lambda: ao.optimize(*one)) for _ in range(2)]
    found: list[ao.Sweep] = []
    taken = seconds_of(lambda: found.append(ao.sweep(vehicle, mission, over)))
    cold.append(seconds_of(lambda: ao.optimize(*one)))
    (swept,) = found
    counts = f"{len(swept)}, {sum(swept.solves)} solves, {len(swept.flying)} fly"
    what = f"sweep of {counts}, {steps}: {name}"
    return Row(name=what, seconds=taken, beside=median(cold), wanted=10.0)


def main() -> None:
    """Print the tables as Markdown."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--cluster", action="store_true", help="only the schedule on many workers")
    if parser.parse_args().cluster:
        print(f"{machine()}. {versions()}.\n\n{table(measured())}")
        return
    print(f"{machine()}. {versions()}. Seconds of the processor, medians.\n")
    print("| | s | of a new answer | wanted at most |\n|---|---:|---:|---:|")
    ao.optimize(TURNSTONE, PELICAN_POINT)  # what is loaded at the first call counts for none
    for one in cases():
        print(neighbour(*one), flush=True)
    for one in cases():
        print(greatest(*one), flush=True)
    for one in cases():
        print(dispersed(*one), flush=True)
    for steps, one in product(STEPS, cases()):
        print(fifty(*one, steps), flush=True)


def measured() -> Seconds:
    """Of new answers and neighbours in a sweep of the example, of which some are new."""
    steps = next(iter(STEPS))
    swept = ao.sweep(TURNSTONE, PELICAN_POINT, grid(TURNSTONE, PELICAN_POINT, steps))
    answers = [one for one in swept.answers if one is not None]
    one = middle(TURNSTONE, PELICAN_POINT, steps)
    cold = [seconds_of(lambda: ao.optimize(*one)) for _ in range(3)]
    return Seconds(
        cold=tuple(cold), warm=tuple(one.seconds for one in answers if one.near)
    )


if __name__ == "__main__":
    main()
