"""Fly an ascent on days that differ."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from concurrent.futures import Executor
from dataclasses import dataclass
from functools import cached_property
from logging import getLogger

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.outcomes import End, Outcomes
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Deadline, Progress, Watch, finished_in_time
from ascentopt.studies.dispersions.dispersed_flights import DispersedFlights
from ascentopt.studies.dispersions.scatter.correlation import Correlation, correlation_factor
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.typing import Floats
from ascentopt.validation import counting, within

_LOG = getLogger("ascentopt.studies")

_PIECE = 50
"""Flights that are flown side by side, in half a second; between pieces the work may be stopped. A
draw is a tenth cheaper with twice as many, and twice as dear with ten."""

_TOGETHER = 8
"""Pieces that another process flies at a time: to make a plan ready takes it as long as one."""

MOST_SEED = 2**64 - 1


@checked
def disperse(
    ascent: Ascent,
    dispersions: Sequence[Dispersion],
    *,
    correlations: Sequence[Correlation] = (),
    count: int = 1000,
    seed: int = 0,
    progress: Progress[DispersedFlights] | None = None,
    time_limit: float | None = None,
    executor: Executor | None = None,
) -> DispersedFlights:
    """Fly an ascent many times, each with draws of its own of what scatters.

    Through the air it is flown as planned, above it by guidance that closes the loop into the
    orbit. Draws hang on the seed, their number and the quantity alone: not on the count, the order
    or the executor. The first draws of a longer run are the same, and what else scatters changes
    nothing of a quantity's draws. They are independent, as order statistics need them. Flights of
    the same draws agree but for rounding, and to the last bit where they are flown in the same
    pieces, as an executor and a run that goes on after a stop fly them.

    Args:
        ascent: the optimum to be flown.
        dispersions: what scatters: `ThrustDispersion`, `IspDispersion`, `RandomWind` and others.
        correlations: between numbers among them.
        count: how many flights. A share of 0.9973 at a confidence of 90 % takes 852.
        seed: of the draws, a whole number from 0 to 2^64 - 1.
        progress: is given a `Step` after each piece, whose ``so_far`` is the flights as they are.
        time_limit: seconds of the clock for the whole.
        executor: flies pieces side by side; threads gain nothing, processes do.

    Raises:
        InputError: for what the vehicle or the mission has no place for, and correlations that make
            no matrix.
        Interrupted: by the keyboard; `best` is the flights so far, which `continue_dispersion` goes
            on with; None where not one piece is finished.
        OutOfTime: likewise, when the time is up.
    """
    watch = Watch("disperse", _LOG, progress, time_limit)
    counting("disperse", "count", count, 1, "Give how many flights; 852 or more say something.")
    within("disperse", "seed", seed, "", (0, MOST_SEED), "Give a whole number.")
    check_dispersions(ascent, dispersions, correlations)
    task = FlownDraws(ascent, tuple(dispersions), tuple(correlations), seed)
    return _flown(watch, task, None, count, executor)


@checked
def continue_dispersion(
    begun: DispersedFlights,
    *,
    count: int | None = None,
    progress: Progress[DispersedFlights] | None = None,
    time_limit: float | None = None,
    executor: Executor | None = None,
) -> DispersedFlights:
    """Fly the flights that are missing, or more than were asked for; those there are kept.

    Args:
        begun: the flights so far.
        count: how many in all; None = as many as were asked for.
        progress, time_limit, executor: as for `disperse`.

    Raises:
        InputError: for a count below that of the flights there are.
        Interrupted, OutOfTime: as `disperse`.
    """
    watch = Watch("continue_dispersion", _LOG, progress, time_limit)
    whole = begun.count if count is None else count
    fix = "Those that are flown are kept; ask for more."
    counting("continue_dispersion", "count", whole, len(begun), fix)
    task = FlownDraws(begun.ascent, begun.dispersions, begun.correlations, begun.seed)
    return _flown(watch, task, begun, whole, executor)


def check_dispersions(
    ascent: Ascent, dispersions: Sequence[Dispersion], correlations: Sequence[Correlation]
) -> None:
    """Refuse what cannot be drawn, or has no place in vehicle or mission. Raises `InputError`."""
    if not dispersions:
        raise InputError(
            "disperse: dispersions is empty; something must scatter. Give at least one."
        )
    names = [one.name for one in dispersions]
    for name in names:
        if names.count(name) > 1:
            raise InputError(
                f"disperse: dispersions hold {name!r} {names.count(name)} times; each quantity "
                "scatters once. Leave the others out, or put their widths together."
            )
    for one in dispersions:
        one.check(ascent.vehicle, ascent.mission)
    correlation_factor(dispersions, correlations)


Piece = tuple[Floats, Outcomes]
"""Inputs and outcomes of some draws."""


@dataclass(frozen=True)
class FlownDraws:
    """Flies pieces of the draws; made anew in every process that it is sent to."""

    ascent: Ascent
    dispersions: tuple[Dispersion, ...]
    correlations: tuple[Correlation, ...]
    seed: int

    @cached_property
    def flight(self) -> DispersedFlight:
        """Made ready once."""
        return DispersedFlight.of(self.ascent)

    def __getstate__(self) -> dict[str, object]:
        """Without what is compiled, which stays in its process."""
        return {name: value for name, value in vars(self).items() if name != "flight"}

    def pieces(self, pieces: list[tuple[int, int]]) -> list[tuple[int, Piece]]:
        """Several, each with the number of its first draw."""
        return [(begin, self(begin, end)) for begin, end in pieces]

    def __call__(self, begin: int, end: int) -> Piece:
        """Inputs and outcomes of draws ``begin`` to ``end`` - 1."""
        draw = Draw.of(self.ascent, self.dispersions, self.correlations, self.seed)
        drawn = draw(begin, end)
        return drawn.inputs, self.flight.fly(drawn.deviations)


class _Flights:
    """Flights that are finished, in the order of the draws as far as there is no gap."""

    def __init__(self, task: FlownDraws, begun: DispersedFlights | None, count: int) -> None:
        self.task, self.count, self.begun = task, count, begun
        self._nominal = None if begun is None else begun.nominal
        self.waiting: dict[int, Piece] = {}
        self.inputs = [] if begun is None else [begun.inputs]
        self.outcomes = [] if begun is None else [begun.outcomes]

    @property
    def nominal(self) -> Outcomes:
        """Of the flight in which nothing is off, flown when it is first asked for."""
        if self._nominal is None:
            self._nominal = self.task.flight.fly(self.task.flight.nominal)
        return self._nominal

    @property
    def flown(self) -> int:
        """How many there are without a gap."""
        return sum(map(len, self.inputs))

    def add(self, begin: int, piece: Piece) -> None:
        """Put a piece where it belongs."""
        self.waiting[begin] = piece
        while (here := self.flown) in self.waiting:
            inputs, outcomes = self.waiting.pop(here)
            self.inputs.append(inputs)
            self.outcomes.append(outcomes)

    def so_far(self) -> DispersedFlights | None:
        """As the user is given them; None where there are none."""
        return self.whole() if self.inputs else None

    def whole(self) -> DispersedFlights:
        """The flights there are."""
        return DispersedFlights(
            ascent=self.task.ascent, dispersions=self.task.dispersions,
            correlations=self.task.correlations, seed=self.task.seed, count=self.count,
            inputs=np.concatenate(self.inputs), outcomes=Outcomes.joined(self.outcomes),
            nominal=self.nominal,
        )  # fmt: skip


def _flown(
    watch: Watch[DispersedFlights],
    task: FlownDraws,
    begun: DispersedFlights | None,
    count: int,
    executor: Executor | None,
) -> DispersedFlights:
    found = _Flights(task, begun, count)
    pieces = [(k, min(k + _PIECE, count)) for k in range(found.flown, count, _PIECE)]
    watch.total = len(pieces)
    with watch.carrying("flights", found.so_far):
        watch.deadline.left()
        watch.begins(f"nominal flight: {found.nominal.margin[0]:.2f} kg left")
        for begin, piece in _pieces(task, pieces, executor, watch.deadline):
            found.add(begin, piece)
            inside = int(np.sum(piece[1].end == End.IN_ORBIT))
            watch.finishes(
                f"flights {begin + 1} to {begin + len(piece[0])}: {inside} reach the orbit"
            )
    return found.whole()


def _pieces(
    task: FlownDraws,
    pieces: list[tuple[int, int]],
    executor: Executor | None,
    deadline: Deadline,
) -> Iterator[tuple[int, Piece]]:
    """Pieces as they are finished; with an executor a failure is raised after all that are."""
    if executor is None:
        for begin, end in pieces:
            deadline.left()
            yield begin, task(begin, end)
        return
    groups = [pieces[k : k + _TOGETHER] for k in range(0, len(pieces), _TOGETHER)]
    waiting = [executor.submit(task.pieces, group) for group in groups]
    for done in finished_in_time(waiting, deadline):
        yield from done.result()
