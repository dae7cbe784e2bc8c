"""Changes of a structure by one burn, coast, end, throttle, heading or place of the drop.

Each says what it gains to first order, by the costates of the flight at hand, and where the solver
may start: at that flight.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from math import inf

import numpy as np

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.moves.empty_arcs import simplifications
from ascentopt.optimal.moves.fairing_drops import drops
from ascentopt.optimal.moves.freedoms import depletions, early_ends, throttles
from ascentopt.optimal.moves.mode_insertions import coasts_before, insertions
from ascentopt.optimal.moves.move import Move
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.warm_start.parking_orbit import has_two_headings
from ascentopt.optimal.warm_start.remap import mirrored, unchanged


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


def moves_from(case: Case, attempt: Attempt, places: Collection[str] = ()) -> Iterator[Move]:
    """Every move from an attempt that has a solution, whatever it gains.

    Args:
        case, attempt: from which it goes.
        places: arcs to drop the fairing in besides those that are within reach.
    """
    yield from simplifications(case, attempt)
    yield from depletions(attempt)
    yield from early_ends(case, attempt)
    yield from throttles(case, attempt)
    yield from insertions(case, attempt)
    yield from coasts_before(case, attempt)
    yield from _headings(case, attempt)
    yield from drops(case, attempt, places)


def _headings(case: Case, attempt: Attempt) -> Iterator[Move]:
    given = case.mission.orbit.inclination is not None
    if not given or not has_two_headings(case.mission):
        return
    plan = replace(attempt.plan, southward=not attempt.plan.southward)
    yield OtherHeading(plan, inf, "the other heading")
