"""Direct collocation for problems of several arcs; knows nothing of what flies.

Data flows from `Problem` through `build` (a nonlinear program with exact sparse derivatives) and
`solve` (IPOPT) to `Solution`; `refine` repeats that on better meshes. Names of files count from
`ascentopt/collocation`. What names no source is common practice.

**The problem** (`problem.py`, `model.py`). On each arc x' = f(t, t - t_k, x, u, q; z) for t_k <= t
<= t_(k+1), with path values c of the same arguments; x (n,) is the state, or its coordinates
(`coordinates.py`), u (m,) the controls, q the arc's parameters, z those free numbers of the problem
that the model names. Instants t_k and free numbers are unknowns. Conditions and the objective J are
functions of the states at the ends of all arcs, of the instants, the free numbers and parameters.
The cost is J, or -J where it is made greatest.

**Transcription** (`mesh/radau.py`, `mesh/mesh.py`, `nlp/layout.py`). The arc is cut into intervals
of the share h of its length, each with d points s_1 < .. < s_d = 1 of the unit interval: the Radau
IIA scheme (Hairer, Wanner, *Solving Ordinary Differential Equations II*, IV.5). X is a polynomial
of degree d through the interval's start, s_0 = 0, and the points; U, of degree d - 1, goes through
the points alone. In differential form the defects are, at each point i,

    sum_j D_ij X_j  -  h (t_(k+1) - t_k) f(t_i, .., X_i, U_i)  =  0,      j = 0 .. d,

with D the derivative of the Lagrange basis (Berrut, Trefethen 2004); the last point of an interval
is the start of the next. The first term is linear with constant coefficients. Path values and
controls are held between their bounds at the points, states at the arc's start, too. End values are
of order 2 d - 1.
A control that may jump is a straight line in the intervals that the mesh marks, by linear rows
(`nlp/ramps.py`). `Span`s bound t_b - t_a; one that begins at a fixed instant is a bound of t_b.

**Scaling** (`nlp/vectors.py`). Every variable and row is divided by the size that its `Quantity`
gives (on an arc `state_scales`), a defect by its state's, the cost by the objective's; time by one
for all. IPOPT's own scaling is off.

**Derivatives** (`nlp/blocks.py`, `nlp/program.py`, `nlp/scatter.py`): f and c are differentiated
once for a model, as scalar expressions at one point, and evaluated at all of them.

**Solving** (`solver/solver.py`): IPOPT with exact Hessians and MUMPS. A `Guess` starts cold, or
near, a `Solution` of these or other meshes with its multipliers, which are interpolated as costates
and densities (`nlp/vectors.py`). Residuals of the optimality conditions are measured again outside
the solver (`solver/readback.py`).

**Costates** (`solver/readback.py`). With the Lagrangian cost + sum_i M_i (defect_i) + .. and b_i
the quadrature weights of the unit interval,

    costate at point i          lambda_i = -M_i / b_i
    costate at the arc's start  lambda_0 = sum_i D_i0 M_i, over the first interval
    density of a path row       M_i / (h b_i (t_(k+1) - t_k)), positive at an upper bound

in physical units: sensitivities of the cost to the state, and over time to a bound (Garg et al.,
Automatica 46, 2010, sec. 4, for the scheme flipped in time). In coordinates they are turned into
those of the state by the transposed Jacobian. The Hamiltonian is lambda . f.

**Sensitivities** (`solver/envelope.py`). A changed problem's optimum, to first order, is the change
of its Lagrangian at the old point with the old multipliers: dV = df + lam_g . (dg - db) -
lam_x . db_x (envelope theorem: Nocedal, Wright, sec. 12.9, from memory), b the bounds that act.
Multipliers of variables whose bounds coincide follow from stationarity.

**Error** (`refinement/refinement.py`). The residual X' - (t_(k+1) - t_k) f of the polynomials
between the points, over the greater of a state's size and its greatest value on the arc, integrated
from the interval's start to d + 4 Gauss points and to its end; the greatest size of these is the
interval's error (Betts, *Practical Methods for Optimal Control*, 2nd ed., sec. 4.7). Beside it
stands by what a path limit is exceeded between the points, in its size.

**Refinement** (`refinement/refinement.py`), until error and excess are within their tolerances. An
interval whose error is R times the tolerance takes ceil(log10 R) + 1 points more, but no more than
the highest degree; where d + ceil(log10 R) is beyond that, it is cut into ceil(R^(1/(d+1))) pieces,
2 or 3. (Two points take off about a factor of a hundred where the solution is smooth.) One in which
a limit is exceeded is cut in two, or in three where it is wide and the excess is large; one that
hides a jump of a control is marked straight and cut until the ramp is short. Where such a control
reaches or leaves a bound narrow intervals are put (`refinement/switching_points.py`): the cost errs
by the second order of their width, its partials by the first.
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
from ascentopt.collocation.solver.solver import SolverSettings, as_iterate_of, restored, solve

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
    "restored",
    "solve",
]
