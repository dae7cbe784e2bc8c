"""Changes of a structure, and the flights at which the solver may start with them."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass

import numpy as np

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.switching.mode_insertion import SHORTEST
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved
from ascentopt.optimal.warm_start.remap import (
    Place,
    brief_burn,
    coast_from,
    mirrored,
    unchanged,
    with_arc,
    with_coast_before_stage,
)


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


@dataclass(frozen=True)
class AddFreedom(Move):
    """The same arcs with more freedom: an end before the propellant's, or a throttle."""

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        return unchanged(attempt.found)


@dataclass(frozen=True)
class BurnToDepletion(Simplification):
    """A stage that may be cut off early, and burns all it has, without that freedom."""

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is."""
        return unchanged(attempt.found)


@dataclass(frozen=True)
class OtherHeading(Move):
    """The other heading with the same inclination; beside a pole there is none."""

    @property
    def keeps_flight(self) -> bool:
        """It flies the other way."""
        return False

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight seen in a mirror that stands upright on the pad, east to west."""
        place = np.array(attempt.sequence.position)
        vertical = place / np.linalg.norm(place)
        north = np.array([0.0, 0.0, 1.0]) - vertical[2] * vertical
        return mirrored(unchanged(attempt.found), north / np.linalg.norm(north))


@dataclass(frozen=True)
class DropFairing(Move):
    """The fairing, which was carried into the orbit, dropped on the way."""

    @property
    def keeps_flight(self) -> bool:
        """The payload may be too hot on the flight as it is."""
        return False

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """None: the flight climbs out of the heat first, so it begins from guesses."""
        return None


@dataclass(frozen=True)
class MoveFairingDrop(Move):
    """The fairing in another arc.

    Args:
        mass: of the fairing, kg.
    """

    mass: float

    @property
    def keeps_flight(self) -> bool:
        """The fairing may weigh more than there is to spare, or the payload get too hot."""
        return False

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight as it is, heavier or lighter by the fairing between the two drops."""
        return with_drop_moved(attempt.found, attempt.sequence, sequence, self.mass)


@dataclass(frozen=True)
class InsertArc(Move):
    """A coast within a burn, or a burn within a coast."""

    place: Place

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight with something brief put in."""
        k = self.place.arc
        if len(sequence.arcs) != len(attempt.sequence.arcs) + 2:
            return None
        own, new = attempt.found.arcs[k], sequence.arcs[k + 1]
        state = own.state_at(np.array([self.place.share]))[0]
        if new.burning:
            node = int(np.argmin(np.abs(own.arc.mesh.fractions() - self.place.share)))
            primer = -own.costates[1 + node, 3:6]
            inserted = brief_burn(new, state, primer / np.linalg.norm(primer))
            return with_arc(attempt.found, sequence, self.place, inserted, SHORTEST)
        at = float(own.times[0] + self.place.share * own.duration)
        inserted, length = coast_from(new, state, at)
        return with_arc(attempt.found, sequence, self.place, inserted, length)


@dataclass(frozen=True)
class CoastBefore(Move):
    """A coast before a stage is lit.

    Args:
        stage: its index.
    """

    stage: int

    def start(self, attempt: Attempt, sequence: Sequence) -> MeshedGuess | None:
        """The flight with a brief coast put in."""
        return with_coast_before_stage(attempt.found, attempt.sequence, sequence, self.stage)
