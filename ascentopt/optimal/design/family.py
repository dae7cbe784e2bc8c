"""The problems of a vehicle and of ones near it, between which the numbers of a design vary."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from ascentopt.collocation import Model, Problem
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.design.design import Design
from ascentopt.optimal.design.linear_numbers import Family
from ascentopt.optimal.problem.phase_model import Varied
from ascentopt.rocket import Vehicle


@dataclass(frozen=True)
class Variant:
    """A vehicle with other numbers, its arcs, and the problem that it poses as it is."""

    vehicle: Vehicle
    sequence: Sequence
    problem: Problem


@dataclass(frozen=True, kw_only=True, eq=False)
class Frame:
    """What is written, with all that its problem is written from.

    Args:
        design, mission: what is free, and where to.
        kept: kg that are to be left beside the mission's reserve.
        family: its own variant, and those with one or all of the variables changed.
        mass_scales: kg at the start of each arc.
        by_mass: for each arc whether its mass, and not its length, says what its tank has left.
        model: of an arc, some of its numbers varied.
    """

    design: Design
    mission: Mission
    kept: float
    family: Family[Variant]
    mass_scales: tuple[float, ...]
    by_mass: tuple[bool, ...]
    model: Callable[[int, Varied], Model]

    @property
    def vehicle(self) -> Vehicle:
        """Its own."""
        return self.family.own.vehicle

    @property
    def sequence(self) -> Sequence:
        """Of its own vehicle."""
        return self.family.own.sequence

    @property
    def problem(self) -> Problem:
        """Of its own vehicle as it is."""
        return self.family.own.problem

    @property
    def cut_off(self) -> int:
        """Index of the arc at whose end the last free cut-off is."""
        return range(len(self.sequence.arcs))[self.sequence.cut_off]


def held_by(stage: str) -> str:
    """The condition on what a stage may burn, kg."""
    return f"propellant that {stage} holds"
