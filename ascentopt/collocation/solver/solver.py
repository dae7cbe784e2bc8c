"""Solve a problem: its program, a start, IPOPT, and the way back to physical units."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from enum import Enum
from functools import lru_cache, partial
from typing import Any

import casadi as ca
import numpy as np

from ascentopt.arguments import checked
from ascentopt.collocation.guess import Guess
from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.program import Program, build
from ascentopt.collocation.nlp.vectors import (
    Limits,
    check_sizes,
    dual_vectors,
    limits,
    parameter_vector,
    start_vector,
)
from ascentopt.collocation.problem import Problem, Structure
from ascentopt.collocation.solution import NotConverged, Outcome, Raw, Solution
from ascentopt.collocation.solver.diagnose import COLD_PUSH, check_start, first_fault
from ascentopt.collocation.solver.readback import read_back
from ascentopt.collocation.solver.remembered import RememberedSolves, Run
from ascentopt.collocation.solver.stoppable_solver import StoppableSolver
from ascentopt.errors import InputError, Interrupted


@checked
@dataclass(frozen=True, kw_only=True)
class SolverSettings:
    """How hard IPOPT tries.

    Args:
        tolerance: largest scaled residual of the optimality conditions.
        iterations: at most so many.
        time_limit: seconds of the clock.
        barrier: barrier parameter at the start of a warm solve on other meshes, or from an iterate
            that is no solution. With multipliers read off between nodes, 1e-7 keeps near them
            without pinning the iterate to bounds.
        near_barrier: the same for a guess that is nearly right but has no multipliers.
    """

    tolerance: float = 1e-8
    iterations: int = 200
    time_limit: float = 60.0
    barrier: float = 1e-7
    near_barrier: float = 1e-7

    def __post_init__(self) -> None:
        for name in ("tolerance", "iterations", "time_limit", "barrier", "near_barrier"):
            value = getattr(self, name)
            if not value > 0:
                raise InputError(
                    f"SolverSettings: {name} is {value}; it must be positive. Raise it."
                )

    @property
    def settled(self) -> SolverSettings:
        """The same, to go on with the barrier that a solution is left with."""
        return replace(self, barrier=self.tolerance * AGAIN_BARRIER)

    def given_up_after(self, iterations: int) -> SolverSettings:
        """The same with so many iterations, if that is fewer."""
        return replace(self, iterations=min(iterations, self.iterations))


class StartKind(Enum):
    """What the solver knows at the start."""

    COLD = "a trajectory"
    NEAR = "a trajectory that is nearly right"
    WARM = "a solution or an iterate, with its multipliers"
    AGAIN = "a solution on the same meshes, with its multipliers"

    @classmethod
    def of(cls, problem: Problem, start: Guess | Solution) -> StartKind:
        """Read it off the start."""
        if isinstance(start, Solution):
            pairs = zip(problem.arcs, start.arcs, strict=True)
            same = start.solved and all(a.mesh == b.arc.mesh for a, b in pairs)
            return cls.AGAIN if same else cls.WARM
        return cls.NEAR if start.near else cls.COLD


WARM_PUSH = 1e-6  # relative distance from the bounds: a solution's active limits stay active

WARMED = (StartKind.WARM, StartKind.AGAIN)

AGAIN_BARRIER, AGAIN_VIOLATION = 1.0 / 11.0, 0.1
"""Where only numbers have changed and every multiplier is as it was. Both over the tolerance: the
barrier parameter to begin with, which is the one IPOPT leaves a solution with, and the violation
allowed, so that one step that happens to meet the tolerance is not the last."""

NEAR_VIOLATION = 5.0
"""Most summed violation, in scaled units, that a solve from a near guess may pass through. IPOPT's
own 10000 lets one wild step throw a feasible start away, and most of those never come back. With 1
the line search crawls: the example's greatest mass takes 100 iterations or fails."""

NEAR_POLISHED = 20.0
"""Times the barrier parameter that the error may be when that is lowered. With 200 a feasible start
meets it at once, the barrier falls in three steps and pins coasts and short burns to bounds that
they have to leave; with IPOPT's 10 a flat valley is polished for a hundred iterations that lead
nowhere. (Four of 300 drawn cases told them apart.)"""

LOST = 1e8
"""Regularisation of the Hessian beyond which a step is not worth its search. Solves that went there
went on to 1e12 with multipliers as large, 75 ms an iteration, and led nowhere: 300 drawn cases all
end as they did without the bound, two of them in a third of the time."""

NEAR_FIRST_CURVE = 10.0
"""Factor by which the Hessian's regularisation grows when it is first needed. IPOPT's 100 goes to
1e6, and it comes down by three an iteration. Found by trying on a dozen hard cases."""

OUTCOMES = {
    "Solve_Succeeded": Outcome.SOLVED,
    "Solved_To_Acceptable_Level": Outcome.STOPPED,
    "Infeasible_Problem_Detected": Outcome.INFEASIBLE,
    "Maximum_Iterations_Exceeded": Outcome.ITERATIONS,
    "Maximum_CpuTime_Exceeded": Outcome.TIME,
    "Maximum_WallTime_Exceeded": Outcome.TIME,
    "Invalid_Number_Detected": Outcome.NUMBERS,
    "User_Requested_Stop": Outcome.INTERRUPTED,
    # Our functions raise nothing themselves: what CasADi passes on this way is a handler of the
    # user's own, which was not held back.
    "NonIpopt_Exception_Thrown": Outcome.INTERRUPTED,
}


def solve(
    problem: Problem,
    start: Guess | Solution,
    settings: SolverSettings = SolverSettings(),
    remembered: RememberedSolves | None = None,
) -> Solution:
    """Return the solution reached from ``start``, run once for all that is ``remembered``.

    A `Solution`, of this mesh or another, starts warm: its multipliers are mapped as well.

    Raises:
        InputError: when the start does not fit the problem, or a function or a derivative is not
            finite there.
        NotConverged: with the last iterate, when the optimality conditions are not met.
        Interrupted: by the keyboard, likewise; no start is tried again that the user has stopped.
    """
    check_sizes(problem, start)
    structure = problem.structure()
    program = build(structure)
    bounds, p = limits(problem, program.layout), parameter_vector(problem)
    x = start_vector(problem, program.layout, start)
    begin = StartKind.of(problem, start)
    lam_g, lam_x = np.zeros(program.layout.rows), np.zeros(program.layout.variables)
    if isinstance(start, Solution):
        lam_g, lam_x = dual_vectors(problem, program.layout, start.duals)
        lam_g = _with_ramps(program, Raw(x, lam_g, lam_x, p))
    at = Raw(x, lam_g, lam_x, p)
    run = partial(_run, partial(_solver, structure, settings, begin), bounds, at)
    decisive = (x, lam_g, lam_x, p, bounds.lbx, bounds.ubx, bounds.lbg, bounds.ubg)
    which = (structure, replace(settings, time_limit=1.0, iterations=1), begin)
    raw, outcome, iterations = (remembered or RememberedSolves()).run(
        which, settings.iterations, decisive, run
    )
    if outcome is not Outcome.SOLVED and iterations == 0:
        # The solver stops at numbers that are not finite: what is told here is which, and why.
        check_start(problem, program, bounds, x, p, WARM_PUSH if begin in WARMED else COLD_PUSH)
    solution = read_back(problem, program, bounds, raw, outcome, iterations)
    if outcome is Outcome.INTERRUPTED:
        raise Interrupted(outcome.value, best=solution)
    if not solution.solved:
        numbers = outcome is Outcome.NUMBERS
        raise NotConverged(solution, first_fault(problem, program, raw.x, p) if numbers else "")
    return solution


def as_iterate_of(problem: Problem, solution: Solution) -> Solution:
    """A solution as an iterate of another problem on its meshes, which differs in bounds alone.

    With the residuals that it has there: what a bound that is gone was worth is a slope left over.
    """
    program = build(problem.structure())
    bounds, old = (limits(one, program.layout) for one in (problem, solution.problem))
    rows = (bounds.lbg == old.lbg) & (bounds.ubg == old.ubg)
    columns = (bounds.lbx == old.lbx) & (bounds.ubx == old.ubx)
    own = solution.raw
    lam_g, lam_x = np.where(rows, own.lam_g, 0.0), np.where(columns, own.lam_x, 0.0)
    raw = replace(own, lam_g=lam_g, lam_x=lam_x)
    return read_back(problem, program, bounds, raw, Outcome.STOPPED, solution.iterations)


def restored(problem: Problem, vectors: tuple[Array, Array, Array]) -> Solution:
    """A solution that was kept as its program's variables and multipliers of rows and bounds.

    Raises:
        InputError: when they are not as many as the problem has.
    """
    program = build(problem.structure())
    layout = program.layout
    sizes = layout.variables, layout.rows, layout.variables
    for name, own, size in zip(("variables", "rows", "bounds"), vectors, sizes, strict=True):
        if np.shape(own) != (size,):
            raise InputError(
                f"A kept solution has {np.shape(own)} numbers for its {name}; the program has "
                f"{size}. It is of another problem, or was made by another version: solve again."
            )
    raw = Raw(*vectors, parameter_vector(problem))
    return read_back(problem, program, limits(problem, layout), raw, Outcome.SOLVED, 0)


def _with_ramps(program: Program, raw: Raw) -> Array:
    """The rows' multipliers, those of the ramps such that inner values are stationary."""
    inner = program.ramps.inner
    if not len(inner):
        return raw.lam_g
    gradient = _flat(program.gradient(raw.x, raw.p)[1])
    jacobian = program.jacobian(raw.x, raw.p)[1]
    pull = gradient + raw.lam_x + _flat(ca.mtimes(jacobian.T, ca.DM(raw.lam_g)))
    lam_g = raw.lam_g.copy()
    lam_g[inner[:, 0]] = -pull[inner[:, 1]]
    return lam_g


def _run(make: Callable[[], StoppableSolver], bounds: Limits, start: Raw) -> Run:
    arguments = {
        "x0": start.x, "lam_x0": start.lam_x, "lam_g0": start.lam_g, "p": start.p,
        "lbx": bounds.lbx, "ubx": bounds.ubx, "lbg": bounds.lbg, "ubg": bounds.ubg,
    }  # fmt: skip
    result, stats, interrupted = make().run(arguments)
    outcome = OUTCOMES.get(stats["return_status"], Outcome.STOPPED)
    outcome = Outcome.INTERRUPTED if interrupted else outcome
    raw = Raw(_flat(result["x"]), _flat(result["lam_g"]), _flat(result["lam_x"]), start.p)
    return raw, outcome, int(stats["iter_count"])


def _flat(column: Any) -> Array:
    return np.array(column, dtype=float).ravel()


@lru_cache(maxsize=64)
def _solver(structure: Structure, settings: SolverSettings, begin: StartKind) -> StoppableSolver:
    program = build(structure)
    return StoppableSolver(program.values, _options(program, settings, begin))


def _options(program: Program, settings: SolverSettings, begin: StartKind) -> dict[str, Any]:
    ipopt: dict[str, Any] = {
        "print_level": 0,
        "sb": "yes",
        "linear_solver": "mumps",
        "nlp_scaling_method": "none",  # the problem is scaled by its author's sizes
        "tol": settings.tolerance,
        "constr_viol_tol": settings.tolerance,
        "dual_inf_tol": 1e2 * settings.tolerance,
        "acceptable_iter": 0,  # no "acceptable" point passes for a solution
        "max_iter": settings.iterations,
        "max_wall_time": settings.time_limit,
        "mu_strategy": "adaptive",
        "bound_push": COLD_PUSH,
        "bound_frac": COLD_PUSH,
        "slack_bound_push": COLD_PUSH,
        "slack_bound_frac": COLD_PUSH,
        # Multipliers by least squares, however large: with all of them at zero the Hessian is
        # nothing but regularisation, and the first step leaves a good guess for nowhere.
        "constr_mult_init_max": 1e10,
        "max_hessian_perturbation": LOST,
    }
    if begin is StartKind.NEAR:
        ipopt |= {
            "mu_strategy": "monotone",
            "mu_init": settings.near_barrier,
            "theta_max_fact": NEAR_VIOLATION,
            "barrier_tol_factor": NEAR_POLISHED,
            "perturb_inc_fact_first": NEAR_FIRST_CURVE,
        }
    if begin in WARMED:
        ipopt |= {
            "mu_strategy": "monotone",
            "mu_init": settings.barrier,
            "warm_start_init_point": "yes",
            "warm_start_bound_push": WARM_PUSH,
            "warm_start_bound_frac": WARM_PUSH,
            "warm_start_slack_bound_push": WARM_PUSH,
            "warm_start_slack_bound_frac": WARM_PUSH,
            "warm_start_mult_bound_push": WARM_PUSH,
        }
    if begin is StartKind.AGAIN:
        ipopt |= {
            "mu_init": settings.tolerance * AGAIN_BARRIER,
            "constr_viol_tol": settings.tolerance * AGAIN_VIOLATION,
        }
    return {
        "ipopt": ipopt,
        "print_time": False,
        "show_eval_warnings": False,  # IPOPT steps back from a trial point outside a domain
        "jac_g": program.jacobian,
        "grad_f": program.gradient,
        "hess_lag": program.hessian,
        "calc_lam_p": False,
        "no_nlp_grad": True,  # nobody asks for it, and it took three quarters of the making
        "error_on_fail": False,
    }
