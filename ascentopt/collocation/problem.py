"""An optimal control problem of several arcs in sequence."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field

import numpy as np

from ascentopt.collocation.mesh.mesh import RadauMesh
from ascentopt.collocation.model import Bounds, Model, Quantity
from ascentopt.errors import InputError
from ascentopt.typing import Expr


@dataclass(frozen=True, kw_only=True)
class Arc:
    """One arc: a model, its mesh, its numbers and the bounds that hold on it.

    Args:
        name: unique in the problem.
        model: the equations; arcs may share one.
        mesh: where they are collocated.
        parameters: (len(model.parameters),) numbers.
        duration: smallest and largest duration; equal ends fix it.
        state_bounds, control_bounds, path_bounds: along the arc, in the model's units.
        state_scales: (n,) typical sizes on this arc; None takes the model's.
    """

    name: str
    model: Model
    mesh: RadauMesh
    parameters: tuple[float, ...] = ()
    duration: tuple[float, float]
    state_bounds: Bounds | None = None
    control_bounds: Bounds | None = None
    path_bounds: Bounds | None = None
    state_scales: tuple[float, ...] | None = None

    def __post_init__(self) -> None:
        sizes = (
            ("parameters", self.parameters, self.model.parameters),
            ("state_bounds", self.state_bounds, self.model.states),
            ("control_bounds", self.control_bounds, self.model.controls),
            ("path_bounds", self.path_bounds, self.model.path),
            ("state_scales", self.state_scales, self.model.states),
        )
        for label, given, expected in sizes:
            if given is not None and len(given) != len(expected):
                raise InputError(
                    f"Arc {self.name!r}: {label} has {len(given)} entries; the model "
                    f"{self.model.name!r} has {len(expected)}. Give one for each."
                )
        low, high = self.duration
        if not (0.0 <= low <= high and low < np.inf):
            raise InputError(
                f"Arc {self.name!r}: duration bounds {self.duration} must satisfy "
                "0 <= smallest <= largest. Correct the pair."
            )

    @property
    def straight_intervals(self) -> tuple[bool, ...]:
        """Intervals in which jumping controls are straight; none where no control jumps."""
        return tuple(mark and bool(self.model.may_jump) for mark in self.mesh.straight)

    @property
    def scales(self) -> np.ndarray:
        """(n,) sizes of the program's variables for the states on this arc."""
        own = self.state_scales
        scales = np.array(own if own is not None else [q.scale for q in self.model.states])
        coordinates = self.model.coordinates
        return scales if coordinates is None else coordinates.scales(scales)


@dataclass(frozen=True)
class Ends:
    """What a condition or an objective may use, in physical units.

    Attributes:
        start, end: per arc, its (n,) state at either end.
        time: (arcs + 1,) instants at which the arcs begin, and the last one ends.
        free: (len(problem.free),) free numbers.
        parameter: (len(problem.parameters),) numbers of the problem.
        start_coordinates, end_coordinates: states in the coordinates in which arcs are solved.
    """

    start: tuple[Expr, ...]
    end: tuple[Expr, ...]
    time: Expr
    free: Expr
    parameter: Expr
    start_coordinates: tuple[Expr, ...] = ()
    end_coordinates: tuple[Expr, ...] = ()


Expression = Callable[[Ends], Expr]


@dataclass(frozen=True, kw_only=True)
class Condition:
    """Scalar quantities at the ends of arcs, held between bounds.

    Args:
        quantities: name, unit and scale of each entry of the expression.
        expression: hashable callable from `Ends` to as many values. Programs are reused between
            problems whose expressions compare equal, so numbers that vary belong in the bounds
            or the problem's parameters.
        bounds: what each entry must lie between.
    """

    quantities: tuple[Quantity, ...]
    expression: Expression
    bounds: Bounds

    def __post_init__(self) -> None:
        if len(self.quantities) != len(self.bounds):
            raise InputError(
                f"Condition {[q.name for q in self.quantities]}: {len(self.bounds)} bounds for "
                f"{len(self.quantities)} quantities. Give one pair for each."
            )


@dataclass(frozen=True, kw_only=True)
class Objective:
    """The scalar to make least, or greatest."""

    quantity: Quantity
    expression: Expression
    maximise: bool = False

    @property
    def sign(self) -> float:
        """Factor that turns the quantity into a cost to be minimised."""
        return -1.0 if self.maximise else 1.0


@dataclass(frozen=True, kw_only=True)
class Span:
    """The time between two instants, held between ``shortest`` and ``longest``."""

    first: int
    last: int
    shortest: float
    longest: float

    def __post_init__(self) -> None:
        ordered = 0.0 <= self.shortest <= self.longest and self.shortest < np.inf
        if not (0 <= self.first < self.last and ordered):
            raise InputError(
                f"Span from instant {self.first} to {self.last}: {self.shortest} to {self.longest} "
                "must go forward in time and satisfy 0 <= shortest <= longest. Correct it."
            )


@dataclass(frozen=True, kw_only=True)
class Problem:
    """Arcs in sequence, the conditions at their ends, and the objective.

    Args:
        arcs: in the order of time; arc k spans from instant k to instant k + 1.
        conditions: everything that holds at the ends, joints between arcs included: nothing is
            continuous unless a condition says so.
        objective: what is optimised.
        start_time: smallest and largest first instant.
        spans: times across several arcs, beside each arc's own duration.
        time: name, unit and scale of time.
        free: free numbers beside the trajectories, seen by conditions, the objective and the
            models that name them; free_bounds holds their bounds.
        parameters, parameter_values: numbers that conditions and the objective may use.
    """

    arcs: tuple[Arc, ...]
    conditions: tuple[Condition, ...]
    objective: Objective
    start_time: tuple[float, float] = (0.0, 0.0)
    spans: tuple[Span, ...] = ()
    time: Quantity = Quantity(name="time", unit="s")
    free: tuple[Quantity, ...] = ()
    free_bounds: Bounds = field(default_factory=lambda: Bounds.free(0))
    parameters: tuple[str, ...] = ()
    parameter_values: tuple[float, ...] = ()

    def __post_init__(self) -> None:
        names = [arc.name for arc in self.arcs]
        if not names or len(set(names)) != len(names):
            raise InputError(
                f"Problem: arc names {names} must be unique and at least one. Rename the arcs."
            )
        late = [span.last for span in self.spans if span.last > len(names)]
        if late:
            raise InputError(
                f"Problem: a span ends at instant {late[0]}, but {len(names)} arcs have instants 0 "
                f"to {len(names)}. Correct the span."
            )
        if not self.start_time[0] <= self.start_time[1]:
            raise InputError(
                f"Problem: start_time {self.start_time} must be (smallest, largest). "
                "Swap or correct the pair."
            )
        if len(self.free) != len(self.free_bounds):
            raise InputError(
                f"Problem: {len(self.free)} free numbers but {len(self.free_bounds)} bounds. "
                "Give free_bounds one entry for each."
            )
        self._check_names()
        if len(self.parameters) != len(self.parameter_values):
            raise InputError(
                f"Problem: {len(self.parameters)} parameters but {len(self.parameter_values)} "
                "values. Give one value for each."
            )

    def _check_names(self) -> None:
        """Refuse models that read free numbers that are not there, or that there are two of."""
        names = [quantity.name for quantity in self.free]
        for arc in self.arcs:
            for name in arc.model.free:
                if names.count(name) != 1:
                    raise InputError(
                        f"Arc {arc.name!r}: the model {arc.model.name!r} reads the free number "
                        f"{name!r}; the problem has {names}. Give it exactly one of that name."
                    )

    def structure(self) -> Structure:
        """All that decides the shape of the nonlinear program, and none of its numbers."""
        return Structure(
            models=tuple(arc.model for arc in self.arcs),
            degrees=tuple(arc.mesh.degrees for arc in self.arcs),
            straight=tuple(arc.straight_intervals for arc in self.arcs),
            timed=tuple((span.first, span.last) for span in self.timed_spans()),
            conditions=tuple((len(c.quantities), c.expression) for c in self.conditions),
            objective=self.objective.expression,
            free=tuple(q.name for q in self.free),
            parameters=len(self.parameters),
        )

    def all_spans(self) -> tuple[Span, ...]:
        """The durations of the arcs, then the spans across several."""
        own = (
            Span(first=k, last=k + 1, shortest=arc.duration[0], longest=arc.duration[1])
            for k, arc in enumerate(self.arcs)
        )
        return (*own, *self.spans)

    def instants(self) -> tuple[np.ndarray, np.ndarray]:
        """Lower and upper bounds of the instants that follow from the spans going forward."""
        lower = np.full(len(self.arcs) + 1, -np.inf)
        upper = np.full(len(self.arcs) + 1, np.inf)
        lower[0], upper[0] = self.start_time
        for span in sorted(self.all_spans(), key=lambda span: (span.last, span.first)):
            lower[span.last] = max(lower[span.last], lower[span.first] + span.shortest)
            upper[span.last] = min(upper[span.last], upper[span.first] + span.longest)
        return lower, upper

    def timed_spans(self) -> tuple[Span, ...]:
        """Spans that begin at a free instant: they need a constraint of their own.

        Where the beginning is fixed, the bounds of the later instant say it all, and a row without
        free variables would make the program's Jacobian singular.
        """
        lower, upper = self.instants()
        return tuple(span for span in self.all_spans() if lower[span.first] < upper[span.first])


@dataclass(frozen=True)
class Structure:
    """All that decides the shape of the nonlinear program, and none of its numbers.

    The key under which a built program is kept: problems that differ in numbers alone share it.
    """

    models: tuple[Model, ...]
    degrees: tuple[tuple[int, ...], ...]
    straight: tuple[tuple[bool, ...], ...]
    timed: tuple[tuple[int, int], ...]
    conditions: tuple[tuple[int, Expression], ...]
    objective: Expression
    free: tuple[str, ...]
    parameters: int

    @property
    def ramps(self) -> int:
        """Number of rows that keep controls straight."""
        trios = zip(self.models, self.degrees, self.straight, strict=True)
        return sum(
            len(model.may_jump) * (degree - 1) * mark
            for model, degrees, marks in trios
            for degree, mark in zip(degrees, marks, strict=True)
        )
