"""What a change of structure is."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.perturbations import Case


def arcs_of(case: Case, plan: FlightPlan) -> Sequence:
    """The arcs of a plan."""
    return sequence_of(case.vehicle, case.mission, plan)


@dataclass(frozen=True)
class Move(ABC):
    """A change of structure.

    Args:
        plan: of the structure that it makes.
        gain: kg of propellant, to first order; inf where only a solve can tell.
        description: what it does, in words.
    """

    plan: FlightPlan
    gain: float
    description: str

    @property
    def keeps_flight(self) -> bool:
        """Whether the flight at hand is one of the structure made, but for an instant."""
        return True

    @abstractmethod
    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight at hand on the arcs of the plan; None where it cannot be told so."""


class Simplification(Move):
    """A structure with less to it, of which the flight at hand is one."""
