"""The fairing dropped on the way, or in another arc."""

from __future__ import annotations

from collections.abc import Collection, Iterator
from dataclasses import dataclass, replace
from math import inf

from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.first_mesh import MeshedGuess
from ascentopt.optimal.moves.move import Move
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.problem.payload_heating import fairing_must_stay
from ascentopt.optimal.switching.fairing_drop import (
    gain_without_heating,
    log_heating_ratio,
    places_within_reach,
    price_of_heating,
)
from ascentopt.optimal.warm_start.moved_fairing_drop import with_drop_moved


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


def drops(case: Case, attempt: Attempt, places: Collection[str]) -> Iterator[Move]:
    """The first drop of a fairing that is carried, or its drop in burns within reach.

    Args:
        case, attempt: from which it goes.
        places: arcs to drop it in besides.
    """
    fairing = case.vehicle.fairing
    if attempt.sequence.index_of_drop is None and fairing is not None:
        if not fairing_must_stay(case.mission, fairing):
            yield _first_drop(attempt)
        return
    near = () if fairing is None else places_within_reach(attempt, fairing)
    others = {*near, *places} & {*attempt.other_burns_for_the_drop()}
    moves = (drop_in(case, attempt, name) for name in sorted(others))
    yield from (move for move in moves if move is not None)


def _first_drop(attempt: Attempt) -> DropFairing:
    """In the burn with which the inserting stage begins; from there it moves on."""
    last = attempt.plan.inserting_stage
    burns = (arc for arc in attempt.sequence.arcs if arc.stage == last and arc.burning)
    plan = replace(attempt.plan, fairing_arc=next(burns).name)
    return DropFairing(plan, inf, "the fairing dropped")


def drop_in(case: Case, attempt: Attempt, name: str | None) -> MoveFairingDrop | None:
    """The fairing in an arc of that name; None where there is no such arc, or no drop."""
    fairing, cut = case.vehicle.fairing, attempt.sequence.index_of_drop
    if fairing is None or cut is None or name not in attempt.sequence.names:
        return None
    place = attempt.sequence.names.index(name)
    saved = gain_without_heating(attempt, fairing, place)
    hotter = log_heating_ratio(attempt, fairing, place)
    gain = saved - price_of_heating(attempt.found) * hotter
    plan = replace(attempt.plan, fairing_arc=name)
    told = f"fairing dropped in {name!r}"
    return MoveFairingDrop(plan, gain, told, fairing.mass)
