"""Scenarios, run one by one or spread over processes; each is written as soon as it is finished."""

from __future__ import annotations

from collections.abc import Callable
from concurrent.futures import BrokenExecutor, Executor, as_completed
from dataclasses import replace
from pathlib import Path
from time import process_time

import ascentopt as ao
from ascentopt.rocket.performance import burns
from ascentopt.scenarios import Scenario
from benchmarks.heuristics.record import Line, Record, today, verdict_text, versions

Work = Callable[[Scenario], Record]


def compared(scenario: Scenario) -> Record:
    """Compare, whatever comes of it."""
    start, empty = process_time(), blank(scenario)
    try:
        found = ao.compare(scenario.vehicle, scenario.mission)
    except Exception as fault:  # noqa: BLE001 - a scenario that fails is listed, never lost
        text = f"{type(fault).__name__}: {str(fault).splitlines()[0]}"
        return replace(empty, failure=text, seconds=process_time() - start)
    return replace(
        empty,
        failure="",
        verdict=verdict_text(found.ascent.certificate),
        optimum=found.ascent.propellant_used,
        margin=found.ascent.propellant_margin,
        lines=tuple(map(Line.of, found.outcomes)),
        seconds=process_time() - start,
    )


def blank(scenario: Scenario) -> Record:
    """A record that only says what was to be run."""
    vehicle, mission = scenario.vehicle, scenario.mission
    return Record(
        scenario=scenario.name,
        title=f"{vehicle.name} from {mission.body.name}, {mission.orbit}, {mission.limits}",
        thrust_to_weight=thrust_to_weight(scenario),
        verdict="",
        optimum=None,
        margin=None,
        lines=(),
        failure="not run",
        seconds=0.0,
        day=today(),
        versions=versions(),
    )


def thrust_to_weight(scenario: Scenario) -> float:
    """At lift-off, in vacuum, against the gravity of a sphere."""
    body = scenario.mission.body
    weight = scenario.vehicle.lift_off_mass * body.gravitational_parameter / body.radius**2
    return burns(scenario.vehicle)[0].thrust / weight


def run(
    scenarios: tuple[Scenario, ...],
    folder: Path,
    *,
    work: Work = compared,
    executor: Executor | None = None,
    progress: Callable[[Record], None] = lambda record: None,
) -> tuple[Record, ...]:
    """Records of all scenarios, in their order; those already in the folder are not run again."""
    found = {s.name: record for s in scenarios if (record := Record.load(folder, s.name))}

    def keep(record: Record) -> None:
        record.save(folder)
        found[record.scenario] = record
        progress(record)

    left = [scenario for scenario in scenarios if scenario.name not in found]
    if executor is None:
        for scenario in left:
            keep(work(scenario))
        return tuple(found[s.name] for s in scenarios)
    futures = {executor.submit(work, scenario): scenario for scenario in left}
    for future in as_completed(futures):
        try:
            keep(future.result())
        except BrokenExecutor as fault:
            died = replace(
                blank(futures[future]), failure=f"its process, or one beside it: {fault}"
            )
            found[died.scenario] = died  # not written, so that a second run tries again
            progress(died)
    return tuple(found[s.name] for s in scenarios)
