"""The best design of a model within a region of trust."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ascentopt.errors import InputError
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.margin_model import MarginModel
from ascentopt.typing import Floats

_TIGHT = 1e-12
"""Tolerance of the search on the model, of objectives of size one: far below what is asked of the
design itself."""

_ROUNDS = 200
"""Iterations on the model; ten to thirty do."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Proposal:
    """A design that a model proposes.

    Attributes:
        values: (n,) of the unknowns.
        gain: by how much less the merit function is than at the flown design; see `Merit`.
    """

    values: Floats
    gain: float


@dataclass(frozen=True, kw_only=True, eq=False)
class Merit:
    """What is to be least: the objective, and a price for margin that is missing.

    An exact penalty (J. Nocedal, S. J. Wright, *Numerical Optimization*, 2nd ed., sec. 17.2, from
    memory): with a price above the constraint's multiplier its least is the constrained one.

    Args:
        design: the vehicles.
        kept: kg of margin that must be left.
        price: of a missing kg of margin.
    """

    design: DesignSpace
    kept: float
    price: float

    def of(self, values: Floats, margin: float) -> float:
        """Of a design that leaves so many kg."""
        return float(self.design.worth @ values) + self.price * max(self.kept - margin, 0.0)


def proposed(merit: Merit, model: MarginModel, radius: float) -> Proposal | None:
    """The least merit of the model within a region of trust about its flown design.

    None where some designs of the region are no vehicles: boosters that outlast their core.

    Args:
        merit: what is to be least.
        model: of the margin.
        radius: of the region, in scaled unknowns each.
    """
    try:
        return _least(merit, model, radius)
    except InputError:
        return None


def _least(merit: Merit, model: MarginModel, radius: float) -> Proposal:
    from scipy.optimize import minimize

    problem = _Scaled(merit, model)
    start = model.flown.values / model.scales
    low, high = merit.design.lower / model.scales, merit.design.upper / model.scales
    region = np.maximum(low, start - radius), np.minimum(high, start + radius)
    missing = max(merit.kept - model.flown.margin, 0.0)
    found = minimize(
        problem.cost,
        np.array([*start, missing / problem.unit]),
        jac=lambda point: problem.cost_slopes,
        bounds=[*zip(*region, strict=True), (0.0, None)],
        constraints=problem.constraints,
        method="SLSQP",
        options={"ftol": _TIGHT, "maxiter": _ROUNDS},
    )
    scaled = np.clip(found.x[:-1], *region)
    values = np.clip(scaled * model.scales, merit.design.lower, merit.design.upper)
    before = merit.of(model.flown.values, model.flown.margin)
    return Proposal(values=values, gain=before - merit.of(values, model.margin(scaled)))


@dataclass(frozen=True, eq=False)
class _Scaled:
    """The model's problem in unknowns over scales and a missing margin, all near one."""

    merit: Merit
    model: MarginModel

    @cached_property
    def unit(self) -> float:
        """Kg of margin for one of the scaled one."""
        return float(np.abs(self.model.flown.slopes * self.model.scales).max())

    @cached_property
    def size(self) -> float:
        """Of the objective."""
        return float(np.abs(self.merit.design.worth * self.model.scales).max())

    @cached_property
    def cost_slopes(self) -> Floats:
        """(n + 1,) of the objective: it is linear."""
        own = self.merit.design.worth * self.model.scales
        return np.array([*own, self.merit.price * self.unit]) / self.size

    def cost(self, point: Floats) -> float:
        """The objective."""
        return float(self.cost_slopes @ point)

    @property
    def constraints(self) -> list[dict[str, object]]:
        """Enough margin, and the budget where there is one."""
        kept: dict[str, object] = {
            "type": "ineq",
            "fun": lambda p: (self.model.margin(p[:-1]) - self.merit.kept) / self.unit + p[-1],
            "jac": lambda p: np.array([*(self.model.slopes(p[:-1]) / self.unit), 1.0]),
        }
        return [kept, *self._budget()]

    def _budget(self) -> list[dict[str, object]]:
        design = self.merit.design
        if design.budget is None:
            return []
        slopes = design.cost_slopes * self.model.scales
        at = design.lower
        rest = design.budget.most - design.cost_of(design.vehicle_at(at)) + design.cost_slopes @ at
        row = np.array([*slopes, 0.0]) / rest
        return [{"type": "ineq", "fun": lambda p: 1.0 - row @ p, "jac": lambda p: -row}]
