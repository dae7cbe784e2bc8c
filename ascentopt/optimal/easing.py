"""Limits on loads that may all be multiplied by one factor, at a price: to and from such flights.

A flight far beyond the limits is feasible there, and the solver brings the factor down to one
itself, or to the least with which the vehicle flies. The price is paid only where it must be: with
a factor of one the optimum is that of the limits as they are.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp

import numpy as np

from ascentopt.collocation import ArcDuals, ArcGuess, ArcSolution, Duals, Guess, Problem, Solution
from ascentopt.collocation.radau import Array
from ascentopt.optimal.joints import OneExcess
from ascentopt.optimal.transcription import Transcription


def eased(guess: Guess, flight: Transcription, excess: float) -> Guess:
    """The guess with the excess as a state where ``flight`` eases, and as the last free number."""

    def more(own: ArcGuess) -> ArcGuess:
        column = np.full((len(own.states), 1), excess)
        return replace(own, states=np.hstack((own.states, column)))

    pairs = zip(flight.sequence.arcs, guess.arcs, strict=True)
    arcs = tuple(more(own) if flight.eases(arc) else own for arc, own in pairs)
    return replace(guess, arcs=arcs, free=np.append(guess.free, excess))


def factor(solution: Solution) -> float:
    """On the limits of an eased flight."""
    return exp(float(solution.free[-1]))


@dataclass(frozen=True, eq=False)
class Eased:
    """A solution whose limits on loads are multiplied, and the flight as it was written."""

    solution: Solution
    flight: Transcription

    @property
    def excess(self) -> float:
        """Logarithm of the factor on the limits."""
        return float(self.solution.free[-1])

    @property
    def factor(self) -> float:
        """On the limits."""
        return factor(self.solution)

    def start(self, problem: Problem) -> Solution:
        """What the solution is to ``problem``, without easing: a start with its multipliers."""
        solution, eases = self.solution, [self.flight.eases(a) for a in self.flight.sequence.arcs]
        arcs = (
            replace(_without_excess(own) if eased else own, arc=arc)
            for own, eased, arc in zip(solution.arcs, eases, problem.arcs, strict=True)
        )
        return replace(
            solution,
            problem=problem,
            arcs=tuple(arcs),
            free=solution.free[:-1],
            duals=_plain_duals(solution.duals, eases, _kept(solution.problem)),
        )


def _without_excess(own: ArcSolution) -> ArcSolution:
    return replace(own, states=own.states[:, :-1], costates=own.costates[:, :-1])


def _kept(problem: Problem) -> Array:
    """Flags of the conditions' quantities that a problem without easing has as well."""
    flags = [
        not isinstance(condition.expression, OneExcess)
        for condition in problem.conditions
        for _ in condition.quantities
    ]
    return np.array(flags)


def _plain_duals(duals: Duals, eases: list[bool], kept: Array) -> Duals:
    arcs = tuple(_less(own) if eased else own for own, eased in zip(duals.arcs, eases, strict=True))
    return replace(duals, arcs=arcs, conditions=duals.conditions[kept], free=duals.free[:-1])


def _less(own: ArcDuals) -> ArcDuals:
    last = len(own.start) - 1
    return replace(
        own,
        rows=np.delete(own.rows, last, axis=1),
        variables=np.delete(own.variables, last, axis=1),
        start=own.start[:-1],
    )
