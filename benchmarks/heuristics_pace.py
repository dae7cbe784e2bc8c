"""Time of the studies beside the optimum, by scenario: ``python -m benchmarks.heuristics_pace``.

Processor seconds, the optimum given beforehand; each study in a process of its own, so that none
flies what another one compiled. `simplify_curve` is asked for 2 to 10 knots, and the map is of 40
by 40 kicks about the best one, by the same insertion. Optima, and where the best kicks were when
the folder was made, are kept in the folder given: so maps of several versions are of the same
cells.
"""

from __future__ import annotations

import argparse
import json
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, field
from math import inf, nan
from multiprocessing import get_context
from pathlib import Path
from time import process_time

import numpy as np
import scipy.integrate  # noqa: F401 - an optimum that is solved for has imported it

import ascentopt as ao
from ascentopt.rules.catalogue import insertions
from ascentopt.scenarios import Scenario, scenarios

CELLS = 40
Kick = tuple[str, float, float]
"""Name of the insertion, speed in m/s and angle in rad."""


@dataclass(frozen=True, kw_only=True)
class Case:
    """A scenario with its optimum, and the kick about which its map is."""

    ascent: ao.Ascent
    kick: Kick


@dataclass(kw_only=True)
class Told:
    """Seconds of each study of a scenario, and the numbers that it found, by its name."""

    seconds: dict[str, float] = field(default_factory=dict)
    found: dict[str, list[float]] = field(default_factory=dict)


def compared(case: Case) -> Iterator[float]:
    """Penalties in kg, by rule, insertion, habit and tuned; NaN where there is no orbit."""
    ascent = case.ascent
    found = ao.compare(ascent.vehicle, ascent.mission, ascent=ascent).outcomes
    for one in sorted(found, key=lambda one: (one.rule, one.insertion, one.tuned)):
        yield nan if one.penalty is None else one.penalty


def simplified(case: Case) -> Iterator[float]:
    """Penalty in kg, and how many limits are broken."""
    found = ao.simplify(case.ascent, knots=4)
    yield found.penalty
    yield len(found.broken)


def curve(case: Case) -> Iterator[float]:
    """Penalties in kg, then how many limits are broken, of each number of knots."""
    found = ao.simplify_curve(case.ascent)
    yield from (one.penalty for one in found)
    yield from (len(one.broken) for one in found)


def turned(case: Case) -> Iterator[float]:
    """Penalty in kg."""
    yield ao.best_gravity_turn(case.ascent).penalty or nan


def mapped(case: Case) -> Iterator[float]:
    """Cells in orbit, and the least penalty in kg."""
    found = map_of(case)
    yield float(np.isfinite(found.penalty).sum())
    yield found.best[2]


Study = Callable[[Case], Iterator[float]]
STUDIES: dict[str, Study] = {
    "compare": compared,
    "simplify": simplified,
    "simplify_curve": curve,
    "best_gravity_turn": turned,
    "cost_map": mapped,
}


def main() -> None:
    """Print one line for each scenario, and a last one of the greatest."""
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("folder", type=Path, help="where optima are kept")
    asked.add_argument("names", nargs="*", help="of scenarios; all by default")
    asked.add_argument("--studies", nargs="*", default=list(STUDIES), choices=list(STUDIES))
    asked.add_argument("--write", type=Path, help="JSON to which all that was found is written")
    given = asked.parse_args()
    chosen = [one for name, one in scenarios().items() if not given.names or name in given.names]
    print(" " * 22 + "".join(f"{study:>19}" for study in given.studies), flush=True)
    told: dict[str, Told] = {}
    for scenario in chosen:
        told[scenario.name] = measured(case_of(scenario, given.folder), given.studies)
        print(_line(scenario.name, told[scenario.name].seconds, given.studies), flush=True)
        if given.write is not None:
            given.write.write_text(json.dumps({k: vars(v) for k, v in told.items()}, indent=1))
    most = {s: max(one.seconds[s] for one in told.values()) for s in given.studies}
    print(_line("the most", most, given.studies))


def _line(name: str, seconds: dict[str, float], studies: Sequence[str]) -> str:
    return f"{name:22}" + "".join(f"{seconds[study]:19.2f}" for study in studies)


def case_of(scenario: Scenario, folder: Path) -> Case:
    """From the folder if it is there, else solved for and kept."""
    folder.mkdir(parents=True, exist_ok=True)
    path, kicked = (folder / f"{scenario.name}.{end}" for end in ("json", "kick.json"))
    if not path.exists():
        ao.optimize(scenario.vehicle, scenario.mission).save(path)
    ascent = ao.Ascent.load(path)
    if not kicked.exists():
        turn = ao.best_gravity_turn(ascent)
        kicked.write_text(json.dumps([turn.insertion, *(one.value for one in turn.parameters)]))
    insertion, speed, angle = json.loads(kicked.read_text())
    return Case(ascent=ascent, kick=(insertion, speed, angle))


def measured(case: Case, studies: Sequence[str]) -> Told:
    """Each study in a process of its own."""
    told = Told()
    for study in studies:
        with get_context("fork").Pool(1) as alone:
            told.seconds[study], told.found[study] = alone.apply(timed, (STUDIES[study], case))
    return told


def timed(study: Study, case: Case) -> tuple[float, list[float]]:
    """Processor seconds, and what it found; infinite for one that finds nothing."""
    began = process_time()
    try:
        found = list(study(case))
    except ao.InputError:
        found = [inf]
    return process_time() - began, found


def map_of(case: Case, cells: int = CELLS) -> ao.CostMap:
    """Kicks from half to one and a half of the best one's angle, speeds likewise."""
    name, speed, angle = case.kick
    insertion = next(one for one in insertions() if one.name == name)
    sides = [np.linspace(0.5 * best, 1.5 * best, cells).tolist() for best in (angle, speed)]
    return ao.cost_map(case.ascent, ao.KickRule(), insertion, across=sides[0], upward=sides[1])


if __name__ == "__main__":
    main()
