"""The best programme that flies at zero angle of attack, and how sharp the valley is it lies in."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from math import nan

from ascentopt.arguments import checked, checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.persistence import Result
from ascentopt.progress import Progress, Watch
from ascentopt.rules.catalogue import insertions
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.kick import KickRule
from ascentopt.studies.comparison.compare import LOG, Catalogue, Comparing
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.tables import Table, Tabular, in_a_line
from ascentopt.units import deg


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Valley(Result, Tabular):
    """What a kick that is not the best one costs.

    Args:
        step: rad by which the angle was changed.
        smaller, larger: kg for each rad of a smaller, and of a larger angle; NaN where it no longer
            leads to the orbit.
    """

    step: float
    smaller: float
    larger: float

    __repr__ = in_a_line

    def to_table(self) -> Table:
        """One row."""
        columns = ("step", "rad"), ("smaller", "kg/rad"), ("larger", "kg/rad")
        return Table.of("valley", columns, [(self.step, self.smaller, self.larger)])


@checked
def best_gravity_turn(
    ascent: Ascent,
    *,
    progress: Progress[RuleOutcome] | None = None,
    time_limit: float | None = None,
) -> RuleOutcome:
    """The kick, its speed and angle tuned, with whichever insertion costs least.

    It never flies at an angle of attack between the kick and the insertion. The limits are kept
    where they can be; `broken` names those that are not.

    Args:
        ascent: the optimum, whose vehicle flies to the same orbit.
        progress: is given a `Step` for each insertion; its ``so_far`` is the best tuned kick.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: when no kick was found that leads to the orbit.
        Interrupted: by the keyboard; `best` is the best tuned kick so far, if one arrived.
        OutOfTime: likewise, when the time is up.
    """
    watch = Watch("best_gravity_turn", LOG, progress, time_limit)
    comparing = Comparing(watch, ascent.vehicle, ascent.mission, ascent)
    with watch.carrying("best kick", lambda: _least_costly(comparing.outcomes)):
        found = comparing.with_rules(Catalogue(rules=(KickRule(),), insertions=insertions()))
    best = _least_costly(found.outcomes)
    if best is None:
        whys = "; ".join(f"{one.insertion}: {one.remark}" for one in found.outcomes if one.tuned)
        raise InputError(
            f"best_gravity_turn: no kick was found that leads to the orbit ({whys}). Fly the "
            "optimum, or a simplified one."
        )
    return best


def _least_costly(kicks: Iterable[RuleOutcome]) -> RuleOutcome | None:
    """The tuned one that breaks fewest limits, and costs least of these; None if none arrives."""
    reached = [one for one in kicks if one.tuned and one.reached]
    return min(reached, key=lambda one: (len(one.broken), one.propellant_used or 0.0), default=None)


@checked
def valley(
    ascent: Ascent,
    kick: RuleOutcome,
    *,
    step: float = 0.1 * deg,
    progress: Progress[Valley] | None = None,
    time_limit: float | None = None,
) -> Valley:
    """How sharp the valley is in which a tuned kick lies, from a step to each side of its angle.

    Args:
        ascent: the optimum, whose vehicle flies.
        kick: what `best_gravity_turn` returns.
        step: rad.
        progress: is given a `Step` for each of the three flights; there is nothing before the last.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: for an outcome of another rule or ascent, or a step that is not positive.
        Interrupted, OutOfTime: by the keyboard, or when the time is up; they carry nothing.
    """
    ways = [one for one in insertions() if one.name == kick.insertion]
    if kick.rule != KickRule().name or not ways or kick.propellant_used is None or step <= 0.0:
        raise InputError(
            f"valley: the outcome is of {kick.rule!r} with {kick.insertion!r}, the step {step!r} "
            "rad; it must be of a kick that reached the orbit, the step positive. Give what "
            "best_gravity_turn returns."
        )
    if kick.penalty is not None:
        ascent.check_measures("valley", "the kick", kick.propellant_used, kick.penalty)
    watch = Watch("valley", LOG, progress, time_limit)
    flight = RuleFlight(
        vehicle=ascent.flown_vehicle,
        mission=ascent.mission,
        rule=KickRule(),
        insertion=ways[0],
        deadline=watch.deadline,
    )
    speed, angle = (one.value for one in kick.parameters)
    watch.total = 3
    with watch.carrying("valley", lambda: None):
        near = _start(flight, (speed, angle), step)
        used = []
        for by in (-step, 0.0, step):
            used.append(_used(flight, (speed, angle + by), near))
            watch.finishes(f"kick angle {(angle + by) / deg:.3f} deg: {used[-1]:.2f} kg")
    smaller, here, larger = used
    return Valley(step=step, smaller=(smaller - here) / step, larger=(larger - here) / step)


def _start(flight: RuleFlight, values: tuple[float, float], step: float) -> ClosedRuleFlight | None:
    """A flight near by: the best kick often lies where an insertion can no longer be guessed."""
    speed, angle = values
    for by in (0.0, step, -step, 2.0 * step, -2.0 * step):
        if angle + by <= 0.0:
            continue
        try:
            return flight.fly((speed, angle + by))
        except CompiledFlightError:
            continue
    return None


def _used(flight: RuleFlight, values: tuple[float, float], near: ClosedRuleFlight | None) -> float:
    if min(values) <= 0.0:
        return nan
    try:
        closed = flight.fly(values, near)
    except CompiledFlightError:
        return nan
    return closed.propellant_used if closed.debt == 0.0 else nan
