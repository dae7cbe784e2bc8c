"""Where everything stands in the vectors of the nonlinear program.

Variables: for each arc its start state, then at each node the state and the control; then the
instants, then the free numbers. Constraints: for each arc, node by node, the collocation
defects and the path values; then the durations, then the conditions, then the ramps.

    x = [ x0 | x1 u1 | x2 u2 | ... ] per arc ... [ t0 ... tK ] [ free ]
    g = [ d1 c1 | d2 c2 | ... ]      per arc ... [ durations ] [ conditions ] [ ramps ]

Parameters: per arc the node fractions, the interval widths, the model's numbers and the state
scales; then the problem's numbers and the scales of conditions, objective (negative where it is
maximised), time, free numbers.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

import numpy as np

from ascentopt.collocation.problem import Structure

Index = np.ndarray


@dataclass(frozen=True)
class ArcLayout:
    """Offsets of one arc; ``states`` n, ``controls`` m, ``path`` c, ``nodes`` N.

    ``free`` says which of the problem's free numbers its model reads.
    """

    states: int
    controls: int
    path: int
    parameters: int
    nodes: int
    first_variable: int
    first_row: int
    first_parameter: int
    free: tuple[int, ...]

    @property
    def width(self) -> int:
        """Variables at a node."""
        return self.states + self.controls

    @property
    def height(self) -> int:
        """Constraints at a node."""
        return self.states + self.path

    @property
    def variables(self) -> int:
        """Variables of the arc."""
        return self.states + self.nodes * self.width

    @property
    def rows(self) -> int:
        """Constraints of the arc."""
        return self.nodes * self.height

    @property
    def numbers(self) -> int:
        """Parameters of the arc."""
        return 2 * self.nodes + self.parameters + self.states

    @cached_property
    def start(self) -> Index:
        """(n,) variables of the start state."""
        return self.first_variable + np.arange(self.states)

    @cached_property
    def node_variables(self) -> Index:
        """(N, n + m) variables at the nodes."""
        first = self.first_variable + self.states
        return first + np.arange(self.nodes * self.width).reshape(self.nodes, self.width)

    @cached_property
    def support(self) -> Index:
        """(N + 1, n) variables of the state at the start and at the nodes."""
        return np.vstack((self.start, self.node_variables[:, : self.states]))

    @cached_property
    def node_rows(self) -> Index:
        """(N, n + c) constraints at the nodes."""
        return self.first_row + np.arange(self.rows).reshape(self.nodes, self.height)


@dataclass(frozen=True)
class Layout:
    """Offsets of the whole program."""

    arcs: tuple[ArcLayout, ...]
    timed: tuple[tuple[int, int], ...]
    free: int
    conditions: int
    parameters: int
    ramps: int = 0

    @cached_property
    def instants(self) -> Index:
        """(K + 1,) variables of the instants."""
        last = self.arcs[-1]
        return last.first_variable + last.variables + np.arange(len(self.arcs) + 1)

    @cached_property
    def free_variables(self) -> Index:
        """Variables of the free numbers."""
        return int(self.instants[-1]) + 1 + np.arange(self.free)

    def shared_variables(self, k: int) -> Index:
        """Variables that all nodes of arc ``k`` see: its two instants, its free numbers."""
        free = self.free_variables[list(self.arcs[k].free)]
        return np.concatenate((self.instants[k : k + 2], free))

    @cached_property
    def duration_rows(self) -> Index:
        """Constraints on the timed spans."""
        return self._first_shared_row + np.arange(len(self.timed))

    @cached_property
    def condition_rows(self) -> Index:
        """Constraints of the conditions, in order."""
        return self._first_shared_row + len(self.timed) + np.arange(self.conditions)

    @property
    def first_ramp_row(self) -> int:
        """Where the rows that keep controls straight begin."""
        return self._first_shared_row + len(self.timed) + self.conditions

    @property
    def _first_shared_row(self) -> int:
        return self.arcs[-1].first_row + self.arcs[-1].rows

    @cached_property
    def tail(self) -> Index:
        """Variables that conditions see: arc by arc start and end state, instants, free ones."""
        ends = [np.concatenate((arc.support[0], arc.support[-1])) for arc in self.arcs]
        return np.concatenate((*ends, self.instants, self.free_variables))

    @property
    def variables(self) -> int:
        """Length of x."""
        return int(self.instants[-1]) + 1 + self.free

    @property
    def rows(self) -> int:
        """Length of g."""
        return self.first_ramp_row + self.ramps

    @property
    def first_problem_parameter(self) -> int:
        """Where the problem's own parameters start."""
        return sum(arc.numbers for arc in self.arcs)

    @property
    def time_scale(self) -> int:
        """Where the scale of time stands in p; those of the free numbers follow."""
        return self.numbers - self.free - 1

    @property
    def numbers(self) -> int:
        """Length of p."""
        return self.first_problem_parameter + self.parameters + self.conditions + 2 + self.free


def lay_out(structure: Structure) -> Layout:
    """Place every arc of the structure."""
    arcs: list[ArcLayout] = []
    variable = row = number = 0
    for model, degrees in zip(structure.models, structure.degrees, strict=True):
        arc = ArcLayout(
            states=len(model.states),
            controls=len(model.controls),
            path=len(model.path),
            parameters=len(model.parameters),
            nodes=sum(degrees),
            first_variable=variable,
            first_row=row,
            first_parameter=number,
            free=tuple(structure.free.index(name) for name in model.free),
        )
        arcs.append(arc)
        variable, row, number = variable + arc.variables, row + arc.rows, number + arc.numbers
    return Layout(
        arcs=tuple(arcs),
        timed=structure.timed,
        free=len(structure.free),
        conditions=sum(size for size, _ in structure.conditions),
        parameters=structure.parameters,
        ramps=structure.ramps,
    )
