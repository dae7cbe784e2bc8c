"""Structures without the burns and coasts of a flight that have no length: the same flight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from math import inf

from ascentopt.collocation import ArcGuess
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import SHORTEST_FREE
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.moves.move import Move, Simplification, arcs_of
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.warm_start.remap import with_arcs_joined

Groups = list[tuple[int, ...]]
"""Indices of the old arcs that each new one is made of."""

BRIEFEST = 0.1
"""s. In less the engine of a stage does not come up to its thrust and down again (common practice,
no source): a burn or coast this little longer than it must be is an event that nobody can fly."""

EMPTY = 1e-6
"""Share of a stage's empty mass, with all it carries, up to which a tank is empty: the solver's
tolerance, a hundred times over."""


@dataclass(frozen=True)
class RemoveEmptyArc(Simplification):
    """Without an arc that has no length.

    Args:
        groups: indices of the old arcs that each new one is made of.
    """

    groups: tuple[tuple[int, ...], ...]

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        if len(sequence.arcs) != len(self.groups):
            return None
        start = with_arcs_joined(attempt.found, self.groups)
        arcs = tuple(
            _coasting_at(own, self._mass(attempt, group)) if not arc.burning else own
            for arc, own, group in zip(sequence.arcs, start.guess.arcs, self.groups, strict=True)
        )
        return replace(start, guess=replace(start.guess, arcs=arcs))

    def _mass(self, attempt: Attempt, group: tuple[int, ...]) -> float:
        """With which a coast ends that a group becomes: what is dropped on the way is gone."""
        last, arcs, cut = group[-1], attempt.found.arcs, attempt.sequence.index_of_drop
        dropped = attempt.sequence.arcs[last].burning
        mass = float(arcs[last + 1].states[0, MASS] if dropped else arcs[last].states[-1, MASS])
        if cut is None or cut not in group[:-1]:
            return mass
        # The fairing now goes as the whole coast ends.
        return mass + (attempt.sequence.arcs[cut].joint.mass_drop or 0.0)


def _coasting_at(own: ArcGuess, mass: float) -> ArcGuess:
    states = own.states.copy()
    states[:, MASS] = mass
    return replace(own, states=states)


def simplifications(case: Case, attempt: Attempt, brief: float = BRIEFEST) -> Iterator[Move]:
    """Moves to structures without burns and coasts no more than ``brief`` s longer than they must.

    By default those that have no length.
    """
    for k in _brief_arcs(attempt, brief):
        yield from _without(case, attempt, k)


def has_empty_arc(attempt: Attempt) -> bool:
    """Whether an engine is lit, or rests between two burns, for no length of time."""
    halves = [own.duration for k, own in enumerate(attempt.found.arcs) if _is_half(attempt, k)]
    if halves and sum(halves) < SHORTEST_FREE + BRIEFEST:
        return True
    return next(_brief_arcs(attempt, BRIEFEST), None) is not None


def _brief_arcs(attempt: Attempt, brief: float) -> Iterator[int]:
    """Indices of whole burns and coasts; half of a burn that the fairing's drop cuts is none."""
    pairs = zip(attempt.sequence.arcs, attempt.found.arcs, strict=True)
    for k, (arc, own) in enumerate(pairs):
        free = not arc.fixed and arc.rise is None and not _burns_to_depletion(arc)
        if free and not _is_half(attempt, k) and own.duration < arc.duration[0] + brief:
            yield k


def _burns_to_depletion(arc: FlightArc) -> bool:
    """Whether a burn has no freedom but its throttle's: at full it is as short as it can be."""
    return arc.burning and arc.duration[0] > SHORTEST_FREE


def _is_half(attempt: Attempt, k: int) -> bool:
    cut, arcs = attempt.sequence.index_of_drop, attempt.sequence.arcs
    if cut is None or k not in (cut, cut + 1) or cut + 1 == len(arcs):
        return False
    before, after = arcs[cut], arcs[cut + 1]
    return before.burning and after.burning and before.stage == after.stage


def _without(case: Case, attempt: Attempt, k: int) -> Iterator[Move]:
    """The structure without an arc, where there is one of the same flight."""
    arcs, plan = attempt.sequence.arcs, attempt.plan
    arc, last = arcs[k], len(arcs) - 1
    if _waits(arc) and arc.stage in plan.coast_before and k == _first(arcs, arc.stage):
        simpler = _lit_at_once(case, attempt, k)
    elif k == last and arc.burning and _inserts_below(arcs, plan, arc.stage):
        below = _first(arcs, arc.stage)
        simpler = _inserted_by_the_stage_below(plan), _grouped(arcs, 0, 0)[:below]
    elif not plan.relights(arc.stage):
        return
    elif arc.burning and k < last and _coasts_after(arcs, k) and not _burned_before(arcs, k):
        simpler = _lit_later(attempt, k)
    elif arc.burning and k < last and arcs[k + 1].stage > arc.stage:
        simpler = _dropped_earlier(attempt, k)
    elif 0 < k < last and _same_on_both_sides(arcs, k):
        simpler = _once_less(plan, arc.stage), _grouped(arcs, k - 1, k + 1)
    elif k == last and arc.burning:
        simpler = _once_less(plan, arc.stage), _grouped(arcs, 0, 0)[:-2]
    else:
        return
    yield from _joined(case, attempt, simpler, f"without {arc.name}")


def _grouped(arcs: tuple[FlightArc, ...], first: int, last: int) -> Groups:
    """Each arc by itself, but for those from a first to a last one."""
    each = [(j,) for j in range(len(arcs))]
    return [*each[:first], tuple(range(first, last + 1)), *each[last + 1 :]]


def _lit_at_once(case: Case, attempt: Attempt, k: int) -> tuple[FlightPlan, Groups]:
    """Without the coast before a stage is lit; its ignition may take time all the same."""
    plan, arcs = attempt.plan, attempt.sequence.arcs
    stage, groups = arcs[k].stage, _grouped(arcs, k, k)
    fewer = replace(plan, coast_before=tuple(s for s in plan.coast_before if s != stage))
    kept = case.vehicle.stages[stage].ignition_delay > 0.0
    return fewer, groups if kept else groups[:k] + groups[k + 1 :]


def _lit_later(attempt: Attempt, k: int) -> tuple[FlightPlan, Groups]:
    """Without the first burn of a stage, which is lit after the coast that follows it."""
    arcs = attempt.sequence.arcs
    waits = k > 0 and arcs[k - 1].stage == arcs[k].stage
    fewer = _once_less(attempt.plan, arcs[k].stage).coasting_before(arcs[k].stage)
    return fewer, _grouped(arcs, k - 1 if waits else k, k + 1)


def _dropped_earlier(attempt: Attempt, k: int) -> tuple[FlightPlan, Groups]:
    """Without the last burn of a lower stage: it is dropped, and the next one lit after the coast.

    What it leaves in its tank so is left by an early end.
    """
    plan, arcs = attempt.plan, attempt.sequence.arcs
    stage, waits = arcs[k].stage, not arcs[k + 1].burning
    fewer = _once_less(plan, stage).coasting_before(stage + 1)
    if not fewer.relights(stage) and leaves_propellant(attempt, k):
        fewer = fewer.cutting_early(stage)
    return fewer, _grouped(arcs, k - 1, k + 1 if waits else k)


def _inserts_below(arcs: tuple[FlightArc, ...], plan: FlightPlan, stage: int) -> bool:
    """Whether a stage does nothing but coast before its last burn, and one below it has burned."""
    burns = sum(arc.burning for arc in arcs if arc.stage == stage)
    return burns == 1 and stage == plan.inserting_stage > 0


def _inserted_by_the_stage_below(plan: FlightPlan) -> FlightPlan:
    """The stage below reaches the orbit; the one that would burn for nothing stays unlit."""
    below = plan.inserting_stage - 1
    return replace(
        plan,
        inserting_stage=below,
        restarts=plan.relights(below),
        coast_before=tuple(k for k in plan.coast_before if k <= below),
        relit=tuple(k for k in plan.relit if k < below),
        cut_early=tuple(k for k in plan.cut_early if k < below),
        throttling=tuple(k for k in plan.throttling if k <= below),
        unlit=plan.unlit + 1,
    )


def leaves_propellant(attempt: Attempt, k: int) -> bool:
    """Whether a burn ends with its tank not empty."""
    least = attempt.sequence.arcs[k].least_mass
    return float(attempt.found.arcs[k].states[-1, MASS]) - least > EMPTY * least


def _waits(arc: FlightArc) -> bool:
    """Whether it is a coast before a burn."""
    return not arc.burning and arc.joint.event.endswith("ignition")


def _first(arcs: tuple[FlightArc, ...], stage: int) -> int:
    return next(j for j, one in enumerate(arcs) if one.stage == stage)


def _coasts_after(arcs: tuple[FlightArc, ...], k: int) -> bool:
    """Whether the stage coasts in the next arc."""
    return arcs[k + 1].stage == arcs[k].stage > 0 and not arcs[k + 1].burning


def _burned_before(arcs: tuple[FlightArc, ...], k: int) -> bool:
    """Whether the stage has burned before an arc."""
    return any(one.burning for one in arcs[:k] if one.stage == arcs[k].stage)


def _same_on_both_sides(arcs: tuple[FlightArc, ...], k: int) -> bool:
    before, after = arcs[k - 1], arcs[k + 1]
    return before.stage == after.stage == arcs[k].stage and before.burning == after.burning


def _once_less(plan: FlightPlan, stage: int) -> FlightPlan:
    if stage == plan.inserting_stage:
        return replace(plan, restarts=plan.restarts - 1)
    relit = list(plan.relit)
    relit.remove(stage)
    return replace(plan, relit=tuple(relit))


def _joined(
    case: Case, attempt: Attempt, simpler: tuple[FlightPlan, Groups], told: str
) -> Iterator[Move]:
    """The move to a plan with fewer arcs, the fairing dropped in what its arc has become."""
    (fewer, groups), cut = simpler, attempt.sequence.index_of_drop
    if fewer.fairing_arc is not None:
        where = [new for new, old in enumerate(groups) if cut in old]
        bare = arcs_of(case, replace(fewer, fairing_arc=None)).names
        if not where or where[0] >= len(bare):
            return
        fewer = replace(fewer, fairing_arc=bare[where[0]])
    yield RemoveEmptyArc(fewer, inf, told, tuple(groups))
