"""Flights that were never solved: what is asked of a flight's arcs alone needs no solver."""

from __future__ import annotations

from collections.abc import Sequence as Several
from itertools import pairwise

import numpy as np

from ascentopt.collocation import RadauMesh
from ascentopt.collocation.guess import Duals
from ascentopt.collocation.problem import Arc, Problem
from ascentopt.collocation.solution import ArcSolution, Outcome, Raw, Residuals, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.transcription import Transcription

MESH = RadauMesh.uniform(intervals=1, degree=3)


def problem_of(case: Case, sequence: Sequence, full_throttle: frozenset[str]) -> Problem:
    """The program of a sequence, on the coarsest mesh, these burns held at full throttle."""
    return Transcription(
        vehicle=case.vehicle,
        mission=case.mission,
        sequence=sequence,
        meshes=(MESH,) * len(sequence.arcs),
        limited_arcs=frozenset(),
        full_throttle=full_throttle,
    ).greatest_mass_problem()


def told(
    case: Case,
    plan: FlightPlan,
    lengths: Several[float],
    masses: Several[tuple[float, float]],
    full_throttle: frozenset[str] = frozenset(),
) -> Attempt:
    """A plan whose arcs have these lengths in s, and so many kg at their two ends.

    Place and speed stand still; what pays and what not nobody knows.
    """
    sequence = sequence_of(case.vehicle, case.mission, plan)
    problem = problem_of(case, sequence, full_throttle)
    instants = np.concatenate(([0.0], np.cumsum(lengths)))
    pieces = zip(problem.arcs, pairwise(instants), masses, strict=True)
    arcs = tuple(_arc(sequence, arc, ends, mass) for arc, ends, mass in pieces)
    nothing = np.zeros(0)
    solution = Solution(
        problem=problem,
        outcome=Outcome.SOLVED,
        arcs=arcs,
        free=np.zeros(len(problem.free)),
        objective=masses[-1][1],
        condition_multipliers=nothing,
        free_multipliers=nothing,
        residuals=Residuals(0.0, 0.0, 0.0, ""),
        iterations=0,
        duals=Duals((), {}, nothing, nothing, nothing),
        raw=Raw(nothing, nothing, nothing, nothing),
    )
    return Attempt(plan, sequence, solution, frozenset(), 0.0, (), keeps_limits=True)


def _arc(
    sequence: Sequence, arc: Arc, ends: tuple[float, float], mass: tuple[float, float]
) -> ArcSolution:
    fractions = np.concatenate(([0.0], arc.mesh.fractions()))
    count, states = len(fractions), len(arc.model.states)
    variables = np.zeros((count, states))
    variables[:, :6] = (*sequence.position, *sequence.velocity)
    variables[:, MASS] = np.interp(fractions, (0.0, 1.0), mass)
    controls = np.zeros((count - 1, len(arc.model.controls)))
    directions = variables[:, MASS + 1 :] if states > MASS + 1 else controls
    directions[:, :1] = 1.0
    return ArcSolution(
        arc=arc,
        times=ends[0] + fractions * (ends[1] - ends[0]),
        variables=variables,
        variable_costates=np.zeros_like(variables),
        controls=controls,
        path=np.zeros((count - 1, 0)),
        path_multipliers=np.zeros((count - 1, 0)),
    )
