"""The search over structures, best first: from the best flight by moves that its costates favour."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.limited_run import LimitedRun
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.structure.moves import Case, Move, Simplify, moves_from, possible
from ascentopt.optimal.structure.remap import Start

WORTH = 3e-6
"""Share of the propellant that a move must gain to first order for a solve: a thirtieth of what an
answer may be worse than the best structure."""

BETTER = 1e-6
"""Share of the propellant by which a flight counts as better than another one."""


def improved(solving: Solving, best: Attempt) -> tuple[Attempt, list[Attempt]]:
    """The best flight that moves lead to from one within the limits, and all others on the way.

    Every move that gains to first order is solved for, and those of which only a solve can tell;
    from a better flight it begins anew. A plan is solved for once.
    """
    case = Case(solving.vehicle, solving.mission)
    least = solving.vehicle.propellant_mass
    others: list[Attempt] = []
    tried = {best.plan}
    while True:
        move = _most_promising(case, best, tried, WORTH * least)
        if move is None:
            return best, others
        tried.add(move.plan)
        found = _solved(solving, case, best, move)
        if found is None:
            continue
        if _is_better(found, best, move, BETTER * least):
            best, found = found, best
        others.append(found)


def _is_better(found: Attempt, best: Attempt, move: Move, by: float) -> bool:
    """Whether a flight is the better one; where it has fewer arcs, if it is no worse."""
    if not (found.limited and found.reached):
        return False
    return found.unspent > best.unspent + (-by if isinstance(move, Simplify) else by)


def _most_promising(
    case: Case, best: Attempt, tried: set[FlightPlan], worth: float
) -> Move | None:
    moves = [
        move
        for move in moves_from(case, best)
        if move.gain > worth and move.plan not in tried and possible(case, move)
    ]
    return max(moves, key=lambda move: move.gain, default=None)


def _solved(solving: Solving, case: Case, attempt: Attempt, move: Move) -> Attempt | None:
    """The structure of a move from the flight at hand, within the limits; None without a start."""
    start = move.start(case, attempt)
    return None if start is None else begun(solving, attempt, move, start)


def begun(solving: Solving, attempt: Attempt, move: Move, start: Start) -> Attempt:
    """As `_solved`, from a start."""
    sequence = Case(solving.vehicle, solving.mission).sequence(move.plan)
    line = f"from {attempt.plan}: {move.told}"
    told = replace(
        attempt,
        plan=move.plan,
        sequence=sequence,
        limited=False,
        history=(line,),
        watched=frozenset(name for name in attempt.watched if name in sequence.names),
    )
    run = LimitedRun(solving, sequence, move.plan, start.meshes, (line,), low=attempt.low)
    return run.from_guess(told, start.guess)
