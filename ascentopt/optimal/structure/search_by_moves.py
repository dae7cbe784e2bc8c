"""The search over structures: from the best flight by moves that its costates favour."""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from contextlib import suppress
from dataclasses import dataclass, replace
from math import inf, isfinite

from ascentopt.errors import InputError
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.in_turn import AttemptsInTurn, result_of
from ascentopt.optimal.moves.empty_arcs import BRIEFEST, has_empty_arc
from ascentopt.optimal.moves.fairing_drops import DropFairing, MoveFairingDrop
from ascentopt.optimal.moves.mode_insertions import InsertArc
from ascentopt.optimal.moves.move import Move, Simplification, arcs_of
from ascentopt.optimal.moves.moves import OtherHeading, moves_from
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.target.ellipse import given_argument_of_periapsis
from ascentopt.optimal.solve.attempt_at import attempt_at
from ascentopt.optimal.solve.limited_solver import LimitedSolver
from ascentopt.optimal.solve.structure_solver import StructureSolver
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.by_parking_orbit import through_the_circle
from ascentopt.optimal.structure.census import SETTLED_BY
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.remap import on_sequence
from ascentopt.rocket import Vehicle

BETTER = 3e-6
"""Share of the propellant that a move must promise for a solve, and by which a flight counts as
better than another: a thirtieth of what an answer may be worse than the best structure, for the
losses of several moves add up."""

WORTH_A_BURN = 1e-5
"""The same at the least where it burns once more, see `_worth_a_burn`: a tenth of what an answer
may be worse than the best structure."""


@dataclass(frozen=True, eq=False)
class SearchResult:
    """What a search came to.

    Attributes:
        best: the flight that no move improves; others: all that were solved for on the way.
        left_out: moves from the best one that lose to first order, and what.
    """

    best: Attempt
    others: tuple[Attempt, ...]
    left_out: tuple[str, ...]


def search_by_moves(task: Task, best: Attempt, *, worth: float | None = None) -> SearchResult:
    """The best flight that moves lead to; see `moves_in_turn`."""
    return result_of(moves_in_turn(task, best, worth=worth))


def moves_in_turn(
    task: Task,
    best: Attempt,
    *,
    worth: float | None = None,
    settled: Iterable[FlightPlan] = (),
) -> AttemptsInTurn[SearchResult]:
    """The best flight that moves lead to from one within the limits.

    Every move that gains to first order is solved for, and those of which only a solve can tell;
    from a better flight it begins anew. A plan is solved for once, and again from a better flight
    that is one of its own: it was a worse local optimum that was found. ``worth`` is the least
    first gain in kg of a move; with one of its own nothing is simplified, which gains nothing.
    Plans that are ``settled`` are not solved for. A place of the fairing's drop that promised once
    stays one to be tried: a steep flight that drops it early and a flat one that drops it late are
    both the best of their kind, and what the one says of a place in between the other does not.
    """
    case, kinds, whole = task.case, set[str](), task.vehicle.propellant_mass
    expected = {**dict.fromkeys(settled, best.unspent), best.plan: best.unspent}
    least = _least_gain(task) if worth is None else worth
    others: list[Attempt] = []
    drops: set[str] = set()
    while True:
        arcs = dict(possible_moves(case, best, drops))
        untried = [
            move
            for move in arcs
            if move.description not in kinds and not _is_settled(move, best, expected, whole)
        ]
        move = _most_promising(untried, least, simplify=worth is None)
        if move is None:
            lost = tuple(_loss_in_words(one) for one in untried)
            best, others = _without_empty_arc(best, others, whole)
            return SearchResult(best, tuple(others), lost)
        promised = (one for one in untried if isinstance(one, MoveFairingDrop) and one.gain > least)
        drops |= {one.plan.fairing_arc for one in promised if one.plan.fairing_arc is not None}
        expected[move.plan] = best.unspent
        if worth is not None:
            kinds.add(move.description)
        task.watch.begins(f"move: {_gain_in_words(move)}")
        found = solve_move(task, best, move, arcs[move])
        if found is None:
            continue
        expected[move.plan] = max(best.unspent, found.unspent)
        better = _is_better(found, best, move, task.vehicle)
        best, found = (found, best) if better else (best, found)
        if not (better and isinstance(move, Simplification)):  # else it is the same flight
            others.append(found)
        yield [best, *others]


def _is_settled(move: Move, best: Attempt, expected: dict[FlightPlan, float], whole: float) -> bool:
    """Whether a move's plan has been solved for from a flight as good as the best one.

    Args:
        expected: kg left by the best flight that each plan was begun from, or that it led to.
        whole: kg of propellant.
    """
    known = expected.get(move.plan)
    if known is None:
        return False
    return not (move.keeps_flight and known < best.unspent - BETTER * whole)


def _without_empty_arc(
    best: Attempt, others: list[Attempt], whole: float
) -> tuple[Attempt, list[Attempt]]:
    """The best flight and the others; one without burns and coasts of no length, if as good.

    A burn of none may be the end of a coast with the spent stage still attached, or of one round to
    where the orbit is as it is wanted; a coast of none, all that a worse optimum of the burns it
    parts differs by. Worth some millionths, and no engine can do it.
    """
    flights = [one for one in others if one.flies]
    plain = [one for one in flights if not has_empty_arc(one)]
    other = max(plain, key=lambda one: one.unspent, default=None)
    if other is None or not has_empty_arc(best):
        return best, others
    if other.unspent < best.unspent - SETTLED_BY * whole:
        return best, others
    return other, [best, *(one for one in others if one is not other)]


def _least_gain(task: Task) -> float:
    """Kg that a move must gain to first order for a solve."""
    return -inf if task.exhaustive else BETTER * task.vehicle.propellant_mass


def _most_promising(moves: list[Move], least: float, *, simplify: bool) -> Move | None:
    """The one that gains most to first order, and more than the least."""
    wanted = (one for one in moves if simplify or not isinstance(one, Simplification))
    promising = (one for one in wanted if one.gain > least)
    return max(promising, key=lambda move: move.gain, default=None)


def possible_moves(
    case: Case, best: Attempt, drops: Collection[str] = ()
) -> Iterator[tuple[Move, Sequence]]:
    """Moves whose plans the vehicle can follow, and the arcs of those.

    Args:
        drops: arcs to drop the fairing in besides those that are within reach.
    """
    for move in moves_from(case, best, drops):
        with suppress(InputError):
            yield move, arcs_of(case, move.plan)


def solve_move(task: Task, best: Attempt, move: Move, sequence: Sequence) -> Attempt | None:
    """The structure of a move from the best flight; None where that cannot be told so.

    The mirror image of a flight is none to an orbit whose periapsis has its place: from guesses.
    """
    if isinstance(move, OtherHeading) and given_argument_of_periapsis(task.mission) is not None:
        return _from_guesses(task, best, move.plan)
    if isinstance(move, DropFairing):
        return _limited_if_better(task, best, attempt_at(task, move.plan))
    start = move.start(best, sequence)
    if start is None or len(start.meshes) != len(sequence.arcs):
        return None
    found = _solve_from_start(task, best, move, sequence, start)
    if isinstance(move, OtherHeading) and not found.reached:
        return _nearer(found, _from_guesses(task, best, move.plan))
    return found


def _nearer(first: Attempt, second: Attempt) -> Attempt:
    """What is known of a structure by two starts; nothing where either led nowhere."""
    if second.reached or second.shortfall is None or first.shortfall is None:
        return second
    return min(first, second, key=lambda one: one.shortfall or 0.0)


def _from_guesses(task: Task, best: Attempt, plan: FlightPlan) -> Attempt:
    """A structure without the limits on loads; within them where it may be better so."""
    starts = attempt_at(task, plan.structure), through_the_circle(task, plan.structure)
    found = max((one for one in starts if one is not None), key=lambda one: one.rank)
    return _limited_if_better(task, best, found)


def _limited_if_better(task: Task, best: Attempt, found: Attempt) -> Attempt:
    return impose_limits(task, found) if found.reached and found.unspent > best.unspent else found


def _gain_in_words(move: Move) -> str:
    """Of one that is tried: infinite where only a solve can tell."""
    known = isfinite(move.gain)
    return f"{move.description}, {move.gain:.3g} kg to first order" if known else move.description


def _loss_in_words(move: Move) -> str:
    return f"{move.description}: gains {move.gain:.2g} kg to first order"


def _is_better(found: Attempt, best: Attempt, move: Move, vehicle: Vehicle) -> bool:
    """Whether a flight is the better one; with fewer arcs, if it is no worse."""
    if not found.flies:
        return False
    by = BETTER * vehicle.propellant_mass
    if isinstance(move, Simplification):
        return found.unspent > best.unspent - by
    return found.unspent > best.unspent + (_worth_a_burn(move, best, vehicle) or by)


def _worth_a_burn(move: Move, best: Attempt, vehicle: Vehicle) -> float | None:
    """Kg that a flight must gain which burns once more; None for one that does not.

    What the engine passes as it comes up and goes down once more. A gain of less is made by a burn
    that is hardly any: next to the end of a coast on which oblateness turns the orbit into the one
    asked for, where such a burn takes a second or none, and optima of both kinds stand side by
    side. At most what an answer may be worse than the best structure.
    """
    if not isinstance(move, InsertArc):
        return None
    stage = vehicle.stages[best.sequence.arcs[move.place.arc].stage]
    whole = vehicle.propellant_mass
    passed = BRIEFEST * stage.engine.mass_flow
    return min(max(passed, WORTH_A_BURN * whole), SETTLED_BY * whole)


def _solve_from_start(
    task: Task, best: Attempt, move: Move, sequence: Sequence, start: MeshedGuess
) -> Attempt:
    """The structure of a move from a start, within the limits on loads.

    Where that is not solved, without them: what has less left so is beaten, and from what has more
    the limits are imposed by all means there are. In haste neither.
    """
    line = f"from {best.plan}: {move.description}"
    limited_arcs = frozenset(name for name in best.limited_arcs if name in sequence.names)
    told = replace(
        best, plan=move.plan, sequence=sequence, limited_arcs=limited_arcs, keeps_limits=False
    )
    guess = on_sequence(sequence, start).guess
    begun = StructureSolver.begun_from(best, task, move.plan, start.meshes, (line,))
    structure_solver = begun.written_near(guess)
    found = LimitedSolver(structure_solver).solve_within_limits(told, guess)
    if found.keeps_limits or task.hasty:
        return found
    free = structure_solver.solve_without_load_limits(guess)
    if not free.reached:
        # Where the flight at hand is one of this structure, it does not fall short.
        return replace(free, shortfall=None) if move.keeps_flight else free
    return free if free.unspent <= best.unspent else impose_limits(task, free)
