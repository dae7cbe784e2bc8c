"""What happens on one arc: named states and controls, their rates, and limits along the way."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.collocation.coordinates import Coordinates
from ascentopt.collocation.mesh.radau import Array
from ascentopt.errors import InputError
from ascentopt.typing import Expr


@dataclass(frozen=True)
class Quantity:
    """A named number with its unit and the size that makes it of order one."""

    name: str
    unit: str = ""
    scale: float = 1.0

    def __post_init__(self) -> None:
        if not (np.isfinite(self.scale) and self.scale > 0.0):
            raise InputError(
                f"Quantity {self.name!r}: scale is {self.scale}; it must be positive and finite. "
                "Give the typical size of the quantity in its own unit."
            )


@dataclass(frozen=True)
class Point:
    """Arguments of a model, all symbolic.

    Attributes:
        time: the problem's clock; ``elapsed`` is the time since the arc began.
        state, control, parameter: (n,), (m,) and (k,) vectors.
        coordinates: (n,) the state in the model's coordinates, if it has any.
        free: (f,) those of the problem's free numbers that the model names, in its order.
    """

    time: Expr
    elapsed: Expr
    state: Expr
    control: Expr
    parameter: Expr
    free: Expr = ()
    coordinates: Expr = ()


Field = Callable[[Point], Expr]


def nothing(point: Point) -> list[Expr]:
    """Path quantities of a model that has none."""
    return []


@dataclass(frozen=True, kw_only=True, eq=False)
class Model:
    """Equations of one kind of arc. Compared by identity, so that a program is built once for it.

    Args:
        name: what the arc is called in messages.
        states, controls: names and units; their order is the order of the vectors.
        rates: from a `Point` to the (n,) time derivatives of the state, or of its coordinates.
        path: names of the quantities that arcs may limit along the way.
        path_values: from a `Point` to the (len(path),) values of these.
        parameters: names of the numbers that arcs of this kind must supply.
        free: names of the free numbers of the problem that rates and path values read. Each is a
            dense column of the program's Jacobian: a model that names none does not pay for them.
        may_jump: places of the controls that may jump from bound to bound.
        nodes_only: places of the path quantities whose bounds matter at the nodes and no further.
        coordinates: in which arcs of this kind are solved; None for the states themselves.
    """

    name: str
    states: tuple[Quantity, ...]
    controls: tuple[Quantity, ...] = ()
    rates: Field
    path: tuple[Quantity, ...] = ()
    path_values: Field = nothing
    parameters: tuple[str, ...] = ()
    free: tuple[str, ...] = ()
    may_jump: tuple[int, ...] = ()
    nodes_only: tuple[int, ...] = ()
    coordinates: Coordinates | None = None

    @property
    def variables(self) -> tuple[Quantity, ...]:
        """What the program has in place of the states."""
        if self.coordinates is None:
            return self.states
        own = tuple(Quantity(*name) for name in self.coordinates.names)
        return (*own, *self.states[len(own) :])

    def state(self, variables: Expr) -> Expr:
        """(n,) state of the program's variables."""
        return variables if self.coordinates is None else self.coordinates.state(variables)


@dataclass(frozen=True, kw_only=True)
class Bounds:
    """Lower and upper bound of each entry of a vector; infinite where there is none."""

    lower: tuple[float, ...]
    upper: tuple[float, ...]

    def __post_init__(self) -> None:
        object.__setattr__(self, "lower", tuple(float(value) for value in self.lower))
        object.__setattr__(self, "upper", tuple(float(value) for value in self.upper))
        if len(self.lower) != len(self.upper):
            raise InputError(
                f"Bounds: {len(self.lower)} lower for {len(self.upper)} upper bounds. "
                "Give one of each for every entry."
            )
        pairs = zip(self.lower, self.upper, strict=True)
        wrong = [
            k
            for k, (low, high) in enumerate(pairs)
            if not (low <= high and low < np.inf and high > -np.inf)
        ]
        if wrong:
            k = wrong[0]
            raise InputError(
                f"Bounds: entry {k} has lower {self.lower[k]} above upper {self.upper[k]} "
                "(or a NaN, or an infinity on the wrong side). Swap or correct them."
            )

    @classmethod
    def free(cls, size: int) -> Bounds:
        """No bound on any of ``size`` entries."""
        return cls(lower=(-np.inf,) * size, upper=(np.inf,) * size)

    @classmethod
    def fixed(cls, values: tuple[float, ...] | Array) -> Bounds:
        """Every entry equal to the given value."""
        return cls(lower=tuple(values), upper=tuple(values))

    def __len__(self) -> int:
        return len(self.lower)


@lru_cache(maxsize=64)
def physical(model: Model) -> ca.Function:
    """(time, elapsed, state, control, numbers) -> (rates, path values), physical units.

    State and rates are in the model's coordinates, if it has any.
    Numbers are the arc's parameters, then the free numbers that the model reads.
    """
    numbers = ca.SX.sym("numbers", len(model.parameters) + len(model.free))
    variables = ca.SX.sym("state", len(model.states))
    point = Point(
        time=ca.SX.sym("time"),
        elapsed=ca.SX.sym("elapsed"),
        state=model.state(variables),
        control=ca.SX.sym("control", len(model.controls)),
        parameter=numbers[: len(model.parameters)],
        free=numbers[len(model.parameters) :],
        coordinates=variables,
    )
    owner = f"Model {model.name!r}"
    rates = as_column(model.rates(point), len(model.states), f"{owner}: rates", "states")
    path = as_column(model.path_values(point), len(model.path), f"{owner}: path_values", "path")
    rates, path = ca.cse([rates, path])  # a model may look its air up for every path quantity
    arguments = [point.time, point.elapsed, variables, point.control, numbers]
    return ca.Function("physical", arguments, [rates, path])


def as_column(value: Expr, size: int, owner: str, counted: str) -> Expr:
    """One column of ``size`` entries from an expression or a list of them."""
    entries = list(value) if isinstance(value, list | tuple) else [value]
    column = ca.vertcat(ca.SX(0, 1), *(ca.vec(ca.SX(entry)) for entry in entries))
    if column.numel() != size:
        raise InputError(
            f"{owner} gives {column.numel()} values for {size} {counted}. Give one for each."
        )
    return column
