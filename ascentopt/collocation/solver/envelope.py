"""What a small change of a problem's numbers does to its optimum, without solving again."""

from __future__ import annotations

from dataclasses import dataclass, replace

import casadi as ca
import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.nlp.layout import Layout
from ascentopt.collocation.nlp.program import Program, build
from ascentopt.collocation.nlp.vectors import Limits, limits, parameter_vector
from ascentopt.collocation.problem import Problem
from ascentopt.collocation.solution import Solution


@dataclass(frozen=True, eq=False)
class Envelope:
    """The Lagrangian at a solution, held there while the problem's numbers change.

    The envelope theorem: to first order an optimum changes as its Lagrangian does at the same
    point with the same multipliers. With constraints g(x; p) and active bounds b(p),

        dV = df + lam_g . (dg - db) + lam_x . (-db_x)

    Source: J. Nocedal, S. J. Wright, *Numerical Optimization*, 2nd ed., sec. 12.9, from memory.
    It holds where the same constraints stay active, and gives no second order.

    Attributes:
        solution: of the problem as it is.
        layout: of its program.
        lam_x: (variables,) multipliers of the variables' bounds, those of constants included.
        bounds, cost, rows: scaled, of the problem as it is.
    """

    solution: Solution
    layout: Layout
    lam_x: Array
    bounds: Limits
    cost: float
    rows: Array

    @classmethod
    def of(cls, solution: Solution) -> Envelope:
        """Complete the multipliers: the solver keeps none for variables whose bounds coincide."""
        program, raw = build(solution.problem.structure()), solution.raw
        bounds = limits(solution.problem, program.layout)
        gradient = _flat(program.gradient(raw.x, raw.p)[1])
        pull = _flat(ca.mtimes(program.jacobian(raw.x, raw.p)[1].T, ca.DM(raw.lam_g)))
        constant = bounds.lbx == bounds.ubx
        lam_x = np.where(constant, -(gradient + pull), raw.lam_x)
        values = _values(program, solution.problem, raw.x)
        return cls(solution, program.layout, lam_x, bounds, *values)

    def change(self, changed: Problem) -> float | None:
        """First-order change of the objective, in its own unit and sense.

        Args:
            changed: the same arcs, meshes and conditions with other numbers; what its expressions
                hold may differ, too. Its scales are not used.

        Returns:
            None when the problem has other arcs, constraints or free instants: it is then no
            small change.
        """
        base, raw = self.solution.problem, self.solution.raw
        same = _on_the_scales_of(base, changed)
        if same is None:
            return None
        program = build(same.structure())
        if program.layout != self.layout:
            return None
        old, new = self.bounds, limits(same, program.layout)
        cost, rows = _values(program, same, raw.x)
        rows_gained = rows - self.rows - _moved(raw.lam_g, old.lbg, old.ubg, new.lbg, new.ubg)
        bounds_moved = _moved(self.lam_x, old.lbx, old.ubx, new.lbx, new.ubx)
        gained = cost - self.cost + raw.lam_g @ rows_gained - self.lam_x @ bounds_moved
        return float(gained) * base.objective.quantity.scale * base.objective.sign


def _values(program: Program, problem: Problem, x: Array) -> tuple[float, Array]:
    """Scaled cost and rows of a problem at a point."""
    cost, rows = program.values(x, parameter_vector(problem))
    return float(cost), _flat(rows)


def _on_the_scales_of(base: Problem, changed: Problem) -> Problem | None:
    """The changed problem in the base's scaled units; None when it is made of other parts."""
    names = [arc.name for arc in base.arcs], [arc.name for arc in changed.arcs]
    sizes = [[len(c.quantities) for c in one.conditions] for one in (base, changed)]
    if names[0] != names[1] or sizes[0] != sizes[1]:
        return None
    arcs = zip(base.arcs, changed.arcs, strict=True)
    conditions = zip(base.conditions, changed.conditions, strict=True)
    return replace(
        changed,
        arcs=tuple(replace(new, state_scales=tuple(old.scales)) for old, new in arcs),
        conditions=tuple(replace(new, quantities=old.quantities) for old, new in conditions),
        objective=replace(changed.objective, quantity=base.objective.quantity),
        time=base.time,
        free=base.free,
    )


def _moved(multiplier: Array, low: Array, high: Array, new_low: Array, new_high: Array) -> Array:
    """How far the bound moves that each multiplier belongs to; nothing where there is none."""
    upper = multiplier > 0.0
    old, new = np.where(upper, high, low), np.where(upper, new_high, new_low)
    moved = np.zeros(len(old))
    np.subtract(new, old, out=moved, where=np.isfinite(old) & np.isfinite(new))
    return moved


def _flat(column: object) -> Array:
    return np.array(column, dtype=float).ravel()
