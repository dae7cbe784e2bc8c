"""Find the programme through the air that loses least over the days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property
from logging import getLogger

import numpy as np

from ascentopt.arguments import checked
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.studies.dispersions.disperse import MOST_SEED, check_dispersions
from ascentopt.studies.dispersions.load_shares import limits_of
from ascentopt.studies.dispersions.scatter.correlation import Correlation
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.studies.robust.criteria import Criterion, Mean
from ascentopt.studies.robust.programme import RobustProgramme
from ascentopt.studies.robust.search import RobustSearch, Tried
from ascentopt.studies.robust.shift import PitchShift, steered_span
from ascentopt.typing import Floats
from ascentopt.validation import counting, require, within

_LOG = getLogger("ascentopt.studies")

_PIECE = 50  # flights side by side, between which the work may be stopped


@checked
@dataclass(frozen=True, kw_only=True)
class TuningDraws:
    """Draws that a programme is tuned on, and fresh ones behind them that it is judged by.

    `tuned` and `fresh` are how many, two at least; `seed` is that of all. Raises `InputError`.
    """

    tuned: int = 100
    fresh: int = 400
    seed: int = 0

    def __post_init__(self) -> None:
        counting("TuningDraws", "tuned", self.tuned, 2, "Give how many draws to tune on.")
        counting("TuningDraws", "fresh", self.fresh, 2, "Give how many draws to judge it by.")
        within("TuningDraws", "seed", self.seed, "", (0, MOST_SEED), "Give a whole number.")


@checked
def robust_programme(
    ascent: Ascent,
    dispersions: Sequence[Dispersion],
    *,
    correlations: Sequence[Correlation] = (),
    knots: int = 4,
    against: Criterion = Mean(),
    draws: TuningDraws = TuningDraws(),
    progress: Progress[RobustProgramme] | None = None,
    time_limit: float | None = None,
) -> RobustProgramme:
    """Shift the optimum's pitch through the air so that the days, not the nominal one, cost least.

    The shift is linear between knots evenly spaced from the end of the vertical rise to where
    guidance takes over. All programmes are flown with the same draws; loads that have a limit may
    not grow beyond it, or beyond what they are by the optimum's own programme where that exceeds
    it, by the same criterion. What is gained is then measured on draws that it was not tuned on.

    Args:
        ascent: where it begins.
        dispersions, correlations: as for `disperse`.
        knots: at which the shift is chosen; one to eight.
        against: `Mean()` of the flights, or `Quantile(0.95)`.
        draws: that it is tuned on, and fresh ones that it is judged by.
        progress: is given a `Step` for each programme that is flown.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: as `disperse`; and where nothing is steered by a table.
        Interrupted: by the keyboard; `best` is the best programme so far, judged by the fresh
            flights so far, which may be none; None where none is flown yet.
        OutOfTime: likewise, when the time is up.
    """
    watch = Watch("robust_programme", _LOG, progress, time_limit)
    within("robust_programme", "knots", knots, "", (1, 8), "Give a whole number.")
    check_dispersions(ascent, dispersions, correlations)
    draw = Draw.of(ascent, dispersions, correlations, draws.seed)
    days = _Days(draw, draws.tuned, draws.fresh)
    work = _Work(watch, ascent, days, against)
    with watch.carrying("programme", work.so_far):
        work.search(knots)
        work.judge()
    return work.programme


@dataclass(frozen=True)
class _Days:
    """The draws that it is tuned on, and those behind them."""

    draw: Draw
    tuned: int
    fresh: int

    def pieces(self) -> Iterator[Deviations]:
        """The fresh ones."""
        end = self.tuned + self.fresh
        for begin in range(self.tuned, end, _PIECE):
            yield self.draw(begin, min(begin + _PIECE, end)).deviations


class _Work:
    """A programme under way: the best that was flown, and what both leave on fresh days so far."""

    def __init__(
        self, watch: Watch[RobustProgramme], ascent: Ascent, days: _Days, against: Criterion
    ) -> None:
        self._watch, self._ascent, self._days, self._against = watch, ascent, days, against
        self._best: Tried | None = None
        self._held: tuple[str, ...] = ()
        self._before: list[Floats] = []
        self._after: list[Floats] = []

    @cached_property
    def _flight(self) -> DispersedFlight:
        """Made ready once."""
        return DispersedFlight.of(self._ascent)

    def search(self, knots: int) -> None:
        """Fly programmes until none is better."""
        self._watch.deadline.left()
        begin, end = steered_span(self._flight)
        require(
            "robust_programme", "time from the end of the rise to guidance", end - begin, "s",
            "above zero, for a table to steer", "Give an ascent through air.", holds=end > begin,
        )  # fmt: skip
        ascent, days = self._ascent, self._days
        found = RobustSearch(
            flight=self._flight,
            table=ascent.steering,
            deviations=days.draw(0, days.tuned).deviations,
            against=self._against,
            limits=limits_of(ascent.mission.limits, ascent.vehicle.max_heating),
            times=tuple(map(float, np.linspace(begin, end, knots + 1))),
            told=self._tried,
        ).found()
        self._held = found.held

    def _tried(self, one: Tried) -> None:
        if self._best is None or one.merit < self._best.merit:
            self._best = one
        self._watch.finishes(f"{self._against}: {one.left:.2f} kg left")
        self._watch.deadline.left()

    def judge(self) -> None:
        """Fly both programmes on the fresh days."""
        other = self._flown_by_best
        for own in self._days.pieces():
            self._watch.deadline.left()
            before, after = self._flight.fly(own).margin, other.fly(own).margin
            self._before.append(before)
            self._after.append(after)
            self._watch.finishes(f"{sum(map(len, self._after))} fresh flights by both programmes")

    @property
    def _flown_by_best(self) -> DispersedFlight:
        return self._shift.flown_by(self._flight, self._ascent.steering)

    @property
    def _shift(self) -> PitchShift:
        if self._best is None:
            raise LookupError("no programme is flown")
        return self._best.shift

    def so_far(self) -> RobustProgramme | None:
        """As the user is given it; None before the first programme is flown."""
        return None if self._best is None else self.programme

    @property
    def programme(self) -> RobustProgramme:
        """The best so far."""
        flight, other, draw = self._flight, self._flown_by_best, self._days.draw
        return RobustProgramme(
            ascent=self._ascent, dispersions=tuple(draw.dispersions),
            correlations=tuple(draw.correlations), seed=draw.seed, against=self._against,
            times=self._shift.times, shifts=self._shift.shifts, tuned=self._days.tuned,
            before=np.concatenate([np.zeros(0), *self._before]),
            after=np.concatenate([np.zeros(0), *self._after]),
            nominal_before=float(flight.fly(flight.nominal).margin[0]),
            nominal_after=float(other.fly(other.nominal).margin[0]),
            held=self._held,
        )  # fmt: skip
