"""A solved (or abandoned) problem in physical units."""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import Enum
from functools import cached_property

import numpy as np

from ascentopt.collocation.coordinates import costates_of, states_of
from ascentopt.collocation.guess import ArcGuess, Duals, Guess, interpolate
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.model import physical
from ascentopt.collocation.problem import Arc, Problem

PIECES = 16
"""Into how many the way from node to node is cut in a guess, which is linear between its points.
Half an orbit has some nine nodes: the chord from one to the next runs 100 km below it on the Earth,
through the air, that of a sixteenth 400 m."""


class Outcome(Enum):
    """How a solve ended; the value says what to do next."""

    SOLVED = "A point that meets the optimality conditions was found."
    INFEASIBLE = (
        "No point near the guess meets the constraints; see which ones are violated, relax one, "
        "or start elsewhere."
    )
    ITERATIONS = "The iteration limit was reached; look at the iterate, then raise the limit."
    TIME = "The time limit was reached; the best iterate so far is attached."
    NUMBERS = "A function returned a number that is not finite; diagnose the iterate."
    STOPPED = "The solver stopped short of its tolerance; look at scaling and the iterate."
    COARSE = (
        "The optimality conditions hold at the nodes, but between them the error is above the "
        "tolerance; allow more rounds, or look for a jump in the equations."
    )
    INTERRUPTED = "The user interrupted the solve; the best iterate so far is attached."


@dataclass(frozen=True, eq=False)
class ArcSolution:
    """One arc of a solution, in physical units.

    Attributes:
        arc: what was solved.
        times: (N + 1,) start and collocation points.
        variables: (N + 1, n) states in the coordinates in which the arc was solved.
        controls: (N, m) at the collocation points only.
        variable_costates: (N + 1, n) sensitivity of the objective's *cost* to these at each time;
            the cost is the objective, or minus the objective where it is maximised.
        path: (N, c) path values.
        path_multipliers: (N, c) densities over time; positive where an upper bound holds.
        free: (f,) the free numbers that the model reads.
    """

    arc: Arc
    times: Array
    variables: Array
    variable_costates: Array
    controls: Array
    path: Array
    path_multipliers: Array
    free: Array = field(default_factory=lambda: np.zeros(0))

    @cached_property
    def states(self) -> Array:
        """(N + 1, n)."""
        return self._states_of(self.variables)

    @cached_property
    def costates(self) -> Array:
        """(N + 1, n) sensitivity of the cost to the state at each time."""
        coordinates, known = self.arc.model.coordinates, self.variable_costates
        return known if coordinates is None else costates_of(coordinates, self.states, known)

    @property
    def duration(self) -> float:
        """Length of the arc."""
        return float(self.times[-1] - self.times[0])

    def fraction(self, times: Array) -> Array:
        """Fractions of the arc at the given times."""
        return np.asarray((np.asarray(times) - self.times[0]) / self.duration)

    def state_at(self, fractions: Array) -> Array:
        """(k, n) states of the collocation polynomials."""
        return self._states_of(self.variables_at(fractions))

    def _states_of(self, variables: Array) -> Array:
        coordinates = self.arc.model.coordinates
        return variables if coordinates is None else states_of(coordinates, variables)

    def variables_at(self, fractions: Array) -> Array:
        """(k, n) polynomials of the states in the coordinates in which the arc was solved."""
        return self.arc.mesh.states_at(fractions, self.variables)

    def control_at(self, fractions: Array) -> Array:
        """(k, m) controls of the collocation polynomials."""
        return self.arc.mesh.controls_at(fractions, self.controls)

    def increments_at(self, fractions: Array) -> Array:
        """(k, n) derivatives of the polynomials with respect to the fraction, as solved."""
        return self.arc.mesh.slopes_at(fractions, self.variables)

    def rates_at(self, fractions: Array) -> Array:
        """(k, n) time derivatives by the model at the polynomials' points."""
        return self.model_at(fractions)[0]

    def model_at(self, fractions: Array) -> tuple[Array, Array]:
        """Rates (k, n) and path values (k, c) of the model at the polynomials' points."""
        fractions = np.atleast_1d(fractions)
        times = self.times[0] + fractions * self.duration
        numbers = np.concatenate((self.arc.parameters, self.free)).reshape(-1, 1)
        rates, path = physical(self.arc.model)(
            times.reshape(1, -1),
            (times - self.times[0]).reshape(1, -1),
            self.variables_at(fractions).T,
            self.control_at(fractions).T,
            np.repeat(numbers, len(fractions), axis=1),
        )
        count = len(fractions)
        return _rows(rates, count), _rows(path, count)

    def as_guess(self) -> ArcGuess:
        """States along the polynomials, controls linear between the collocation points."""
        nodes = np.concatenate(([0.0], self.arc.mesh.fractions()))
        inner = np.linspace(nodes[:-1], nodes[1:], PIECES, endpoint=False, axis=1)
        fractions = np.append(inner.ravel(), 1.0)
        states = self.state_at(fractions)
        states[::PIECES] = self.states
        controls = np.vstack((self.control_at(np.zeros(1)), self.controls))
        return ArcGuess(fractions, states, interpolate(fractions, nodes, controls))

    def hamiltonian(self) -> Array:
        """(N,) costates times rates at the collocation points."""
        rates = self.rates_at(self.arc.mesh.fractions())
        return np.asarray((self.variable_costates[1:] * rates).sum(axis=1))


def _rows(columns: object, count: int) -> Array:
    return np.array(columns, dtype=float).reshape(-1, count).T


@dataclass(frozen=True, eq=False)
class Solution:
    """A problem with the trajectories, multipliers and numbers that the solver left.

    Attributes:
        problem: what was solved.
        outcome: how it ended.
        arcs: one solution each.
        free: values of the free numbers.
        objective: value of the objective, in its own unit and sense.
        condition_multipliers: (conditions,) change of the *cost* per unit of each condition's
            upper (positive) or lower (negative) bound, sign reversed: cost + multiplier * value.
        free_multipliers: (free,) the same for the bounds of the free numbers; none is kept for one
            whose bounds coincide.
        residuals: our own measure of the optimality conditions.
        iterations: of the interior-point method.
        duals: multipliers in a form that another mesh can start from.
    """

    problem: Problem
    outcome: Outcome
    arcs: tuple[ArcSolution, ...]
    free: Array
    objective: float
    condition_multipliers: Array
    free_multipliers: Array
    residuals: Residuals
    iterations: int
    duals: Duals
    raw: Raw

    @property
    def instants(self) -> Array:
        """(arcs + 1,) times at the ends of the arcs."""
        return np.array([*(arc.times[0] for arc in self.arcs), self.arcs[-1].times[-1]])

    def as_guess(self) -> Guess:
        """The trajectories alone, as a near guess for a problem with other constraints."""
        # A duration of zero may come out below it, by the solver's tolerance.
        instants = np.maximum.accumulate(self.instants)
        return Guess(instants, tuple(arc.as_guess() for arc in self.arcs), self.free, near=True)

    @property
    def solved(self) -> bool:
        """Whether the optimality conditions hold to the solver's tolerance."""
        return self.outcome is Outcome.SOLVED


@dataclass(frozen=True)
class Residuals:
    """Violation of the first-order conditions in scaled units, computed outside the solver.

    Attributes:
        primal: largest violation of a constraint or bound.
        dual: largest entry of the Lagrangian's gradient.
        complementarity: largest product of a multiplier and its slack.
        worst: name of the constraint behind ``primal``.
    """

    primal: float
    dual: float
    complementarity: float
    worst: str


@dataclass(frozen=True, eq=False)
class Raw:
    """The program's own vectors: variables, multipliers of rows and of bounds, parameters."""

    x: Array
    lam_g: Array
    lam_x: Array
    p: Array


class NotConverged(RuntimeError):
    """The solver ended without a solution; ``solution`` holds the last iterate and its outcome.

    ``solved`` is the last solution before it, on a coarser mesh; None where there was none.
    """

    def __init__(self, solution: Solution, detail: str = "") -> None:
        self.solution = solution
        self.detail = detail
        self.solved: Solution | None = None
        residuals = solution.residuals
        super().__init__(
            f"{solution.outcome.value} (after {solution.iterations} iterations; largest violation "
            f"{residuals.primal:.2e} scaled, at {residuals.worst}; dual {residuals.dual:.2e})"
            + (f" {detail}." if detail else "")
        )
