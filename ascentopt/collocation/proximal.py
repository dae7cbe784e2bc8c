"""A program whose objective is drawn towards a point: the proximal-point method's subproblem.

Far from a solution the Hessian of the Lagrangian is indefinite and Newton's steps lead anywhere.
With  f(x) + sum_i w_i (x_i - r_i)^2 / 2  in place of f they stay near r; solving, moving r to the
solution and lightening w leads to a solution of the program itself, where the term vanishes.
Source: R. T. Rockafellar, SIAM J. Control Optim. 14 (1976), for the convex case.
"""

from __future__ import annotations

from functools import lru_cache

import casadi as ca

from ascentopt.collocation.problem import Structure
from ascentopt.collocation.program import Program, build


@lru_cache(maxsize=32)
def build_drawn(structure: Structure) -> Program:
    """The structure's program with p extended by w and r, both as long as x."""
    plain = build(structure)
    size = plain.layout.variables
    x, every = ca.MX.sym("x", size), ca.MX.sym("p", plain.layout.numbers + 2 * size)
    p, w, r = ca.vertsplit(every, [0, plain.layout.numbers, plain.layout.numbers + size, every.numel()])
    cost, rows = plain.values(x, p)
    pull = w * (x - r)
    drawn = cost + 0.5 * ca.dot(pull, x - r)
    weight, weights = ca.MX.sym("weight"), ca.MX.sym("weights", plain.layout.rows)
    hessian = plain.hessian(x, p, weight, weights) + weight * ca.diag(w)
    return Program(
        layout=plain.layout,
        values=ca.Function("nlp", [x, every], [drawn, rows], ["x", "p"], ["f", "g"]),
        gradient=ca.Function("nlp_grad_f", [x, every], [drawn, plain.gradient(x, p)[1] + pull]),
        jacobian=ca.Function("nlp_jac_g", [x, every], list(plain.jacobian(x, p))),
        hessian=ca.Function("nlp_hess_l", [x, every, weight, weights], [hessian]),
    )
