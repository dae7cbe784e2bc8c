"""Fly a rule of thumb over a grid of its two numbers."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import replace
from logging import getLogger

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Deadline, Progress, Watch, finished_in_time
from ascentopt.rules.evaluate.check_rule import check_rule
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.insertion import Insertion
from ascentopt.rules.laws.rule import Rule
from ascentopt.studies.maps.axis import Axis
from ascentopt.studies.maps.axis_sense import check_angles
from ascentopt.studies.maps.cost_map import CostMap
from ascentopt.studies.maps.map_row import MapRows, Row
from ascentopt.typing import Floats

_LOG = getLogger("ascentopt.studies")


@checked
def cost_map(
    ascent: Ascent,
    rule: Rule,
    insertion: Insertion,
    *,
    across: Sequence[float],
    upward: Sequence[float],
    progress: Progress[CostMap] | None = None,
    time_limit: float | None = None,
    executor: Executor | None = None,
) -> CostMap:
    """What a rule with two numbers costs beside the optimum, row by row.

    Args:
        ascent: the optimum, whose vehicle flies the rule to the same orbit.
        rule, insertion: for instance a kick, and a coast to the apoapsis.
        across, upward: increasing values of the rule's last and first number, for a kick its angle
            in rad and its speed in m/s.
        progress: is given a `Step` after each row, whose ``so_far`` is the map as it stands; save
            that there, and a crash loses only rows that are not finished: `continue_map` flies
            those.
        time_limit: seconds of the clock for the whole.
        executor: flies rows side by side; threads gain nothing, processes do. When one fails all
            others are finished and told to `progress` before its error is raised. Rows that are
            under way in other processes when this one is stopped are flown to their end there.

    Raises:
        InputError: for a rule with other than two numbers, values that do not increase, or angles
            beyond pi, which are degrees or the other side's.
        Interrupted: by the keyboard; `best` is the map so far, which `continue_map` goes on with.
        OutOfTime: likewise, when the time is up.
    """
    watch = Watch("cost_map", _LOG, progress, time_limit)
    flight = RuleFlight(
        vehicle=ascent.flown_vehicle, mission=ascent.mission, rule=rule, insertion=insertion
    )
    check_rule(rule)
    flight.check_begins()
    empty = _unflown(ascent, flight, across, upward)
    return _filled_up(watch, empty, flight, executor)


def _unflown(
    ascent: Ascent, flight: RuleFlight, across: Sequence[float], upward: Sequence[float]
) -> CostMap:
    """A map of which no row is finished yet. Raises `InputError` as `cost_map`."""
    opened = flight.rule.open
    if len(opened) != 2:
        raise InputError(
            f"cost_map: the rule {flight.rule.name!r} has {len(opened)} numbers; a map needs two. "
            "Give a rule with two."
        )
    sides = [
        Axis(name=one.name, unit=one.unit, values=_increasing(name, values))
        for one, name, values in zip(
            reversed(opened), ("across", "upward"), (across, upward), strict=True
        )
    ]
    check_angles(sides, tuple(reversed(opened)))
    shape = len(upward), len(across)
    return CostMap(
        rule=f"{flight.rule.name}, {flight.insertion.name}",
        across=sides[0],
        upward=sides[1],
        propellant_used=np.full(shape, np.nan),
        optimum=ascent.propellant_used,
        excess=np.full(shape, np.nan),
        flown=(),
        least_upward=_least_upward(flight, (float(upward[0]), float(across[0]))),
        subject=_subject(ascent),
    )


def _subject(ascent: Ascent) -> str:
    return f"{ascent.vehicle.name} to {ascent.mission.orbit} of {ascent.mission.body.name}"


def _least_upward(flight: RuleFlight, values: tuple[float, float]) -> float:
    """What the least of the first number is flown as, where the vertical rise says that."""
    try:
        flown = flight.as_flown(values)[0]
    except CompiledFlightError:
        return 0.0
    return flown if flown > values[0] else 0.0


@checked
def continue_map(
    begun: CostMap,
    ascent: Ascent,
    rule: Rule,
    insertion: Insertion,
    *,
    progress: Progress[CostMap] | None = None,
    time_limit: float | None = None,
    executor: Executor | None = None,
) -> CostMap:
    """Fly the rows of a map that are missing; those that are finished are kept as they are.

    Args:
        begun: the map so far.
        ascent, rule, insertion: what it was begun with.
        progress, time_limit, executor: as for `cost_map`.

    Raises:
        InputError: when the map was made for another rule or optimum.
        Interrupted, OutOfTime: as `cost_map`.
    """
    watch = Watch("continue_map", _LOG, progress, time_limit)
    name = f"{rule.name}, {insertion.name}"
    if begun.rule != name or begun.optimum != ascent.propellant_used:
        raise InputError(
            f"continue_map: the map is of {begun.rule!r} beside {begun.optimum!r} kg; "
            f"to be flown is {name!r} beside {ascent.propellant_used!r} kg; they must be "
            "the same. Go on with what the map was begun with."
        )
    if begun.subject and begun.subject != _subject(ascent):
        raise InputError(
            f"continue_map: the map is of {begun.subject!r}; the ascent is of "
            f"{_subject(ascent)!r}, and it must be the same. Go on with what it was begun with."
        )
    flight = RuleFlight(
        vehicle=ascent.flown_vehicle, mission=ascent.mission, rule=rule, insertion=insertion
    )
    return _filled_up(watch, begun, flight, executor)


def _filled_up(
    watch: Watch[CostMap], begun: CostMap, flight: RuleFlight, executor: Executor | None
) -> CostMap:
    found = begun
    # Elsewhere is another clock: whoever waits for rows that are flown there looks at this one.
    deadline = watch.deadline if executor is None else Deadline()
    timed = replace(flight, deadline=deadline)
    task = MapRows(flight=timed, across=tuple(map(float, begun.across.values)))
    alike = _rows_alike(begun)
    firsts = {rows[0]: float(begun.upward.values[rows[-1]]) for rows in alike}
    watch.total = len(firsts)
    with watch.carrying("map", lambda: found):
        for first, one in _rows(task, firsts, executor, watch.deadline):
            for row in next(rows for rows in alike if rows[0] == first):
                found = _filled(found, row, one)
            orbits = int(np.isfinite(one.used).sum())
            watch.finishes(f"{begun.upward.name} {firsts[first]:.6g}: {orbits} reach the orbit")
    return found


def _rows_alike(begun: CostMap) -> list[list[int]]:
    """Rows that are missing, those together that the vertical rise leaves no difference."""
    values = begun.upward.values
    low = [row for row in begun.missing if values[row] <= begun.least_upward]
    rest = [[row] for row in begun.missing if row not in low]
    return [low, *rest] if low else rest


def _rows(
    task: MapRows, firsts: dict[int, float], executor: Executor | None, deadline: Deadline
) -> Iterator[tuple[int, Row]]:
    """Rows as they are finished; with an executor a failure is raised after all that are."""
    if executor is None:
        yield from ((row, task(first)) for row, first in firsts.items())
        return
    waiting = {executor.submit(task, first): row for row, first in firsts.items()}
    for done in finished_in_time(waiting, deadline):
        yield waiting[done], done.result()


def _filled(found: CostMap, row: int, one: Row) -> CostMap:
    used, excess = found.propellant_used.copy(), found.excess.copy()
    used[row], excess[row] = one.used, one.excess
    rows = found.reasons or ((),) * len(used)
    return replace(
        found,
        propellant_used=used,
        excess=excess,
        flown=tuple(sorted({*(found.flown or ()), row})),
        reasons=(*rows[:row], one.reasons, *rows[row + 1 :]),
    )


def _increasing(name: str, values: Sequence[float]) -> Floats:
    found = np.asarray(values, dtype=np.float64)
    if found.ndim != 1 or not len(found) or np.any(np.diff(found) <= 0.0) or found[0] <= 0.0:
        raise InputError(
            f"cost_map: {name} is {found.tolist()}; it must be a row of positive values that "
            "increase. Give at least one."
        )
    return found
