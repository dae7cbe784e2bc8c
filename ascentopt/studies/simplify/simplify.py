"""An optimal ascent as a pitch programme with few knots, and what that costs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from logging import getLogger

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import Progress, Watch
from ascentopt.steering.pitch_table import Against
from ascentopt.studies.simplify.knot_search import KnotSearch
from ascentopt.studies.simplify.simpler import SimplerCurve, SimplerProgramme
from ascentopt.studies.simplify.simplify_task import SimplifyTask, task_of

_FEWEST, _MOST = 2, 30

_ALIKE = 1e-6
"""Of the propellant: what is no longer worth a step, and beyond what closing leaves."""

_LOG = getLogger("ascentopt.studies")


@checked
def simplify(
    ascent: Ascent,
    *,
    knots: int,
    against: Against = Against.TIME,
    progress: Progress[SimplerProgramme] | None = None,
    time_limit: float | None = None,
) -> SimplerProgramme:
    """The pitch programme with at most so many knots that loses least propellant.

    Pitch is linear between knots, constant beyond them, and held from the end of the vertical rise;
    the heading is that of due east or of the orbit's inclination, then of the motion. Where the
    optimum throttles, the programme does by a few knots and to keep the greatest acceleration;
    engines are at full throttle otherwise. Limits on loads are kept where so few knots can, and the
    payload stays cool after the fairing's drop. After a direct ascent the last two pitches and the
    cut-off are such that the flight ends in the orbit (to 0.1 m and 1e-4 m/s); after a coast the
    radius of the apoapsis at cut-off, and when a last, horizontal burn begins and ends. A last
    stage that does not burn before the coast burns at a constant pitch, level or below.

    So many knots are searched alone: one with a knot fewer may be a millionth of the propellant
    better. `simplify_curve` takes several times as long, and a knot more never costs there.

    Args:
        ascent: to a circle whose node is free, directly or with one coast of the last stage. Coasts
            before stages are lit keep their lengths.
        knots: 2 to 30.
        against: the clock, or the altimeter.
        progress: is given a `Step` for each search that is begun; its ``so_far`` is the best
            programme that any of them has flown.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: for another ascent, or when so few knots do not lead to the orbit.
        Interrupted: by the keyboard; `best` is the best programme so far, if one arrives.
        OutOfTime: likewise, when the time is up.
    """
    counts = _checked((knots,))
    watch = Watch("simplify", _LOG, progress, time_limit)
    task = task_of(ascent, against, watch)
    with watch.carrying("programme", task.so_far):
        found = task.flown(task.searched(knots))
        if not found or found[0].broken:
            # A search may end at a corner of a load; those that grow come from other sides.
            found = sorted([*found, *(one for _, one in _curve(task, counts))], key=_counted)
        for one in found[:1]:
            watch.finishes(f"{len(one.knots)} knots: {one.penalty:+.2f} kg")
    if not found:
        raise InputError(
            f"simplify: knots is {knots}; no programme with so few was found that reaches the "
            "orbit. Allow more knots."
        )
    return found[0]


@checked
def simplify_curve(
    ascent: Ascent,
    knots: Iterable[int] = range(2, 11),
    *,
    against: Against = Against.TIME,
    progress: Progress[SimplerCurve] | None = None,
    time_limit: float | None = None,
) -> SimplerCurve:
    """Programmes with more and more knots, none worse than one with fewer.

    A limit that is broken counts before kilograms. Where a knot more buys nothing the programme is
    the one with fewer knots, once more. Numbers of knots for which no programme was found that
    reaches the orbit are left out.

    Args:
        ascent, against: as for `simplify`.
        knots: numbers of them.
        progress: is given a `Step` after each number; its ``so_far`` are the programmes that are
            finished.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: as `simplify`, for the ascent and the numbers.
        Interrupted: by the keyboard; `best` holds the programmes that are finished.
        OutOfTime: likewise, when the time is up.
    """
    counts = _checked(knots)
    watch = Watch("simplify_curve", _LOG, progress, time_limit)
    watch.total = len(counts)
    found: list[SimplerProgramme] = []
    with watch.carrying("curve", lambda: SimplerCurve(found)):
        for count, best in _curve(task_of(ascent, against, watch), counts):
            found.append(best)
            watch.finishes(f"{count} knots: {best.penalty:+.2f} kg")
    return SimplerCurve(found)


def _curve(task: SimplifyTask, counts: list[int]) -> Iterator[tuple[int, SimplerProgramme]]:
    """The best programmes with some numbers of knots."""
    return (pair for pair in _growing(task, counts[-1]) if pair[0] in counts)


def _growing(task: SimplifyTask, most: int) -> Iterator[tuple[int, SimplerProgramme]]:
    """The best programme with each number of knots for which there is one."""
    close = _ALIKE * task.ascent.propellant_used
    before: KnotSearch | None = None
    best: SimplerProgramme | None = None
    for count in range(_FEWEST, most + 1):
        for search in task.searches(count, before):
            if best is not None and not best.broken and search.used > best.propellant_used - close:
                # As good, with a knot more: with the next one there are two to move.
                before = search if search.used < best.propellant_used + close else before
                continue
            for one in task.flown(search):
                if best is None or _counted(one) < _counted(best):
                    best, before = one, search
        if best is not None:
            yield count, best


def _counted(programme: SimplerProgramme) -> tuple[float, float]:
    """What a programme breaks most, as a share of the limit, and then what it costs in kg."""
    beyond = max((excess.share for excess in programme.broken), default=0.0)
    return round(beyond, 3), programme.penalty


def _checked(knots: Iterable[int]) -> list[int]:
    counts = sorted(set(knots))
    if not counts or not _FEWEST <= counts[0] <= counts[-1] <= _MOST:
        raise InputError(
            f"simplify: the numbers of knots are {counts}; they must be {_FEWEST} to {_MOST}. "
            "Give some of these."
        )
    return counts
