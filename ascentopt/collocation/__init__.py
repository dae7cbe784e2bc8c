"""Direct collocation for problems of several arcs; knows nothing of what flies.

Data flows from `Problem` through `build` (a nonlinear program with exact sparse derivatives) and
`solve` (IPOPT) to `Solution`; `refine` repeats that on better meshes.
"""

from ascentopt.collocation.guess import ArcDuals, ArcGuess, Duals, Guess
from ascentopt.collocation.mesh.mesh import RadauMesh
from ascentopt.collocation.model import Bounds, Model, Point, Quantity
from ascentopt.collocation.problem import Arc, Condition, Ends, Objective, Problem, Span
from ascentopt.collocation.refinement.refinement import Accuracy, Refinement, refine, remeshed
from ascentopt.collocation.refinement.switching_points import refine_switching_points
from ascentopt.collocation.solution import ArcSolution, NotConverged, Outcome, Solution
from ascentopt.collocation.solver.envelope import Envelope
from ascentopt.collocation.solver.remembered import RememberedSolves
from ascentopt.collocation.solver.solver import SolverSettings, as_iterate_of, solve

__all__ = [
    "Accuracy",
    "Arc",
    "ArcDuals",
    "ArcGuess",
    "ArcSolution",
    "Bounds",
    "Condition",
    "Duals",
    "Ends",
    "Envelope",
    "Guess",
    "Model",
    "NotConverged",
    "Objective",
    "Outcome",
    "Point",
    "Problem",
    "Quantity",
    "RadauMesh",
    "Refinement",
    "RememberedSolves",
    "Solution",
    "SolverSettings",
    "Span",
    "as_iterate_of",
    "refine",
    "refine_switching_points",
    "remeshed",
    "solve",
]
