"""How limits on loads that a flight breaks are strained by what is carried."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.collocation import Envelope, Problem
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import STEP, Case, variations
from ascentopt.optimal.problem.elastic_limits import ElasticSolution
from ascentopt.optimal.problem.linkage import WEIGHTS
from ascentopt.optimal.task import Task

HOPELESS = 0.5
"""Share of a strain on the limits that other payloads must take off to first order, lest they are
given up: strains bend less than that over the payloads that fly."""


def may_be_unstrained(task: Task, attempts: list[Attempt], payloads: tuple[float, ...]) -> bool:
    """Whether another payload, kg, may bring attempts within the limits on loads.

    It may where none is known to break them.
    """
    pairs = ((one, one.least_strained) for one in attempts)
    broken = [(one, eased) for one, eased in pairs if eased is not None]
    case, asked = task.case, task.vehicle.payload_mass
    payload = next(one for one in variations(case) if one.quantity == "payload")
    for one, eased in broken:
        taken_off = (strain_taken_off(one, eased, payload.changed(STEP)) or 0.0) / STEP
        most = max(taken_off * (other - asked) for other in payloads)
        if most > HOPELESS * eased.excess:
            return True
    return not broken


def strain_taken_off(attempt: Attempt, eased: ElasticSolution, changed: Case) -> float | None:
    """Logarithm of the factor on the limits that a changed case needs less, to first order.

    None where that makes another sequence of arcs.

    Raises:
        InputError: where the changed case makes none at all.
    """
    told = _eased_program(attempt, eased, changed)
    if told is None:
        return None
    change = Envelope.of(eased.solution).change(told)
    return -(change or 0.0) / told.parameter_values[WEIGHTS][-1]


def _eased_program(attempt: Attempt, eased: ElasticSolution, case: Case) -> Problem | None:
    """The eased program of a changed case; None where it makes another sequence of arcs."""
    sequence, problem = (
        sequence_of(case.vehicle, case.mission, attempt.plan),
        eased.solution.problem,
    )
    if sequence.names != attempt.sequence.names:
        return None
    flight = replace(eased.flight, vehicle=case.vehicle, mission=case.mission, sequence=sequence)
    written = (
        flight.greatest_mass_problem()
        if problem.objective.maximise
        else flight.least_missing_speed_problem()
    )
    return replace(written, parameter_values=problem.parameter_values)
