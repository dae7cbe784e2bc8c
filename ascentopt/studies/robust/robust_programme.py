"""Find the programme through the air that loses least over the days."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
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
from ascentopt.studies.robust.search import RobustSearch
from ascentopt.studies.robust.shift import PitchShift, steered_span
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
        Interrupted, OutOfTime: stopped; there is no programme before it is judged.
    """
    watch = Watch("robust_programme", _LOG, progress, time_limit)
    within("robust_programme", "knots", knots, "", (1, 8), "Give a whole number.")
    check_dispersions(ascent, dispersions, correlations)
    draw = Draw.of(ascent, dispersions, correlations, draws.seed)
    with watch.carrying("programme", lambda: None):
        watch.deadline.left()
        flight = DispersedFlight.of(ascent)
        days = _Days(draw, draws.tuned, draws.fresh)
        shift = _search(watch, ascent, flight, days, against, knots).found()
        return _judged(watch, ascent, flight, days, against, shift)


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


def _search(
    watch: Watch[RobustProgramme],
    ascent: Ascent,
    flight: DispersedFlight,
    days: _Days,
    against: Criterion,
    knots: int,
) -> RobustSearch:
    begin, end = steered_span(flight)
    require(
        "robust_programme", "time from the end of the rise to guidance", end - begin, "s",
        "above zero, for a table to steer", "Give an ascent through air.", holds=end > begin,
    )  # fmt: skip

    def told(lost: float) -> None:
        watch.deadline.left()
        watch.finishes(f"{against}: {-lost:.2f} kg left")

    return RobustSearch(
        flight=flight,
        table=ascent.steering,
        deviations=days.draw(0, days.tuned).deviations,
        against=against,
        limits=limits_of(ascent.mission.limits, ascent.vehicle.max_heating),
        times=tuple(map(float, np.linspace(begin, end, knots + 1))),
        told=told,
    )


def _judged(
    watch: Watch[RobustProgramme],
    ascent: Ascent,
    flight: DispersedFlight,
    days: _Days,
    against: Criterion,
    shift: PitchShift,
) -> RobustProgramme:
    """Both programmes on fresh draws."""
    other = shift.flown_by(flight, ascent.steering)
    before, after = [], []
    for own in days.pieces():
        watch.deadline.left()
        before.append(flight.fly(own).margin)
        after.append(other.fly(own).margin)
    draw = days.draw
    return RobustProgramme(
        ascent=ascent, dispersions=tuple(draw.dispersions),
        correlations=tuple(draw.correlations), seed=draw.seed, against=against, times=shift.times,
        shifts=shift.shifts, tuned=days.tuned, before=np.concatenate(before),
        after=np.concatenate(after),
        nominal_before=float(flight.fly(flight.nominal).margin[0]),
        nominal_after=float(other.fly(other.nominal).margin[0]),
    )  # fmt: skip
