"""Fly a rule of thumb over a grid of its two numbers."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import Executor, as_completed
from dataclasses import dataclass, replace

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.quick import OffCourse
from ascentopt.optimal.ascent import Ascent
from ascentopt.rules.flown import Closed, RuleFlight
from ascentopt.rules.insertion import Insertion
from ascentopt.rules.rule import Rule
from ascentopt.rules.tuning import load_ratio
from ascentopt.studies.cost_map import Axis, CostMap
from ascentopt.world.table import Floats

Progress = Callable[[CostMap], None]
Row = tuple[Floats, Floats]


def cost_map(
    ascent: Ascent,
    rule: Rule,
    insertion: Insertion,
    *,
    across: Sequence[float],
    upward: Sequence[float],
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> CostMap:
    """What a rule with two numbers costs beside the optimum, row by row.

    Args:
        ascent: the optimum, whose vehicle flies the rule to the same orbit.
        rule, insertion: for instance a kick, and a coast to the apoapsis.
        across, upward: increasing values of the rule's last and first number, for a kick its angle
            in rad and its speed in m/s.
        progress: is given the map so far after each row; save it there to be able to go on later.
        executor: flies rows side by side; threads gain nothing, processes do.

    Raises:
        InputError: for a rule with other than two numbers, or values that do not increase.
    """
    flight = RuleFlight(
        vehicle=ascent.flown_vehicle, mission=ascent.mission, rule=rule, insertion=insertion
    )
    opened = rule.open
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
    shape = len(upward), len(across)
    empty = CostMap(
        rule=f"{flight.rule.name}, {flight.insertion.name}",
        across=sides[0],
        upward=sides[1],
        propellant_used=np.full(shape, np.nan),
        optimum=ascent.propellant_used,
        excess=np.full(shape, np.nan),
        flown=(),
    )
    return _filled_up(empty, flight, (progress, executor))


def continue_map(
    begun: CostMap,
    ascent: Ascent,
    rule: Rule,
    insertion: Insertion,
    *,
    progress: Progress | None = None,
    executor: Executor | None = None,
) -> CostMap:
    """Fly the rows of a map that are missing; those that are finished are kept as they are.

    Raises:
        InputError: when the map was made for another rule or optimum.
    """
    name = f"{rule.name}, {insertion.name}"
    if begun.rule != name or begun.optimum != ascent.propellant_used:
        raise InputError(
            f"continue_map: the map is of {begun.rule!r} beside {begun.optimum!r} kg; "
            f"to be flown is {name!r} beside {ascent.propellant_used!r} kg; they must be "
            "the same. Go on with what the map was begun with."
        )
    flight = RuleFlight(
        vehicle=ascent.flown_vehicle, mission=ascent.mission, rule=rule, insertion=insertion
    )
    return _filled_up(begun, flight, (progress, executor))


def _filled_up(
    begun: CostMap, flight: RuleFlight, ways: tuple[Progress | None, Executor | None]
) -> CostMap:
    found, (progress, executor) = begun, ways
    task = MapRows(flight=flight, across=tuple(map(float, begun.across.values)))
    speeds = {row: float(begun.upward.values[row]) for row in begun.missing}
    for row, (used, excess) in _rows(task, speeds, executor):
        found = _filled(found, row, used, excess)
        if progress is not None:
            progress(found)
    return found


def _rows(
    task: MapRows, speeds: dict[int, float], executor: Executor | None
) -> Iterator[tuple[int, Row]]:
    """Rows as they are finished."""
    if executor is None:
        yield from ((row, task(speed)) for row, speed in speeds.items())
        return
    waiting = {executor.submit(task, speed): row for row, speed in speeds.items()}
    yield from ((waiting[done], done.result()) for done in as_completed(waiting))


@dataclass(frozen=True, eq=False, kw_only=True)
class MapRows:
    """Flies one row of a map; may be sent to another process."""

    flight: RuleFlight
    across: tuple[float, ...]

    def __call__(self, first: float) -> Row:
        """(columns,) propellant and excess with this value of the rule's first number."""
        used, excess = np.full(len(self.across), np.nan), np.full(len(self.across), np.nan)
        before: list[Closed] = []
        for column, second in enumerate(self.across):
            closed = self._at((first, second), before)
            before = [] if closed is None else [*before[-1:], closed]
            # What is flown on credit does not reach the orbit.
            if closed is not None and closed.debt == 0.0:
                used[column] = closed.propellant_used
                excess[column] = load_ratio(self.flight, closed) - 1.0
        return used, excess

    def _at(self, values: tuple[float, ...], before: list[Closed]) -> Closed | None:
        for near in (_ahead(before), None) if before else (None,):
            try:
                return self.flight.at(values, near)
            except OffCourse:
                continue
        return None


def _ahead(before: Iterable[Closed]) -> Closed:
    """The last flight, its unknowns led on in a straight line from the one before it."""
    *earlier, last = before
    if not earlier or earlier[0].law.plan != last.law.plan:
        return last
    pairs = zip(earlier[0].unknowns, last.unknowns, strict=True)
    return replace(last, unknowns=tuple(2.0 * b - a for a, b in pairs))


def _filled(found: CostMap, row: int, used: Floats, excess: Floats) -> CostMap:
    all_used, all_excess = found.propellant_used.copy(), found.excess.copy()
    all_used[row], all_excess[row] = used, excess
    flown = tuple(sorted({*(found.flown or ()), row}))
    return replace(found, propellant_used=all_used, excess=all_excess, flown=flown)


def _increasing(name: str, values: Sequence[float]) -> Floats:
    found = np.asarray(values, dtype=np.float64)
    if found.ndim != 1 or not len(found) or np.any(np.diff(found) <= 0.0) or found[0] <= 0.0:
        raise InputError(
            f"cost_map: {name} is {found.tolist()}; it must be a row of positive values that "
            "increase. Give at least one."
        )
    return found
