"""What a structure would leave in a neighbouring case, by the Lagrangian at its solution."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import sqrt

from ascentopt.collocation import Envelope
from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.violations import without_load_limits
from ascentopt.optimal.solved_program import SolvedProgram

FARTHER = 4.0
"""Times that what the best structure does beyond the first order another one may do beside it.
Three were seen, where a coast makes up for a thrust that the best structure must take as it is."""

CURVED = 0.1
"""Share of what a structure is foretold to move against the best one that may be beyond the first
order: numbers change by a tenth of themselves or less from neighbour to neighbour."""


@dataclass(frozen=True)
class Foretold:
    """Kilograms more that a structure leaves in another case.

    Args:
        more: to first order.
        strayed: by how much that may be off, with all that it was off by before.
    """

    more: float
    strayed: float


def more_left(attempt: Attempt, case: Case, *, limited: bool = True) -> float | None:
    """Kilograms that a solution leaves more in another case, the reserve counted, to first order.

    None where that case has another program. Without the limits on loads unless ``limited``.
    """
    mission = case.mission
    if not limited:
        mission = replace(mission, limits=without_load_limits(mission.limits))
    try:
        sequence = sequence_of(case.vehicle, mission, attempt.plan)
    except InputError:
        return None
    own, found = attempt.sequence, attempt.found
    if sequence.names != own.names:
        return None
    told = attempt.transcription_of(case.vehicle, mission, sequence, found)
    problem = told.greatest_mass_problem()
    led = replace(problem, parameter_values=found.problem.parameter_values)
    gained = Envelope.of(found).change(led)
    if gained is None:
        return None
    lighter = sequence.propellant_left(0.0) - own.propellant_left(0.0)
    return gained + lighter + sequence.reserve - own.reserve


@dataclass(frozen=True)
class BestMoved:
    """What the best structure leaves more in another case, kg: to first order, and beyond it."""

    more: float
    beyond: float


def foretold(kept: SolvedProgram, old: Case, new: Case, best: BestMoved) -> Foretold | None:
    """Of a structure that was solved at the old case, or at one before it; None as `more_left`.

    Beyond the first order a change by several steps is a square of their sum, of which the roots of
    what each strays add up.

    Args:
        kept: its solution.
        old, new: the neighbour's case, and the one here.
        best: structure from one to the other.
    """
    try:
        attempt = kept.attempt(old.vehicle, old.mission)
    except InputError:
        return None
    more = more_left(attempt, new, limited=not kept.asks_no_limits)
    if more is None:
        return None
    own = FARTHER * abs(best.beyond) + CURVED * abs(more - best.more)
    return Foretold(more, (sqrt(kept.strayed) + sqrt(own)) ** 2)
