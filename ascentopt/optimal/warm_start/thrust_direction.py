"""Guesses whose direction of thrust is a control on some arcs and a state on others."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.collocation import ArcGuess, Guess, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import MAX_TURN_RATE

STARTING_SHARE = 0.5
"""Of the turn rate: a start that turns faster is slowed down to this, inside of the limit."""


def guess_on_sequence(sequence: Sequence, solution: Solution) -> Guess:
    """A solution as a guess for a sequence whose directions may be states on other arcs."""
    return with_directions_fitted(sequence, solution.as_guess())


def with_directions_fitted(sequence: Sequence, guess: Guess) -> Guess:
    """A guess for a sequence of as many arcs, whose directions may be states on other ones."""
    lengths = np.diff(guess.instants)
    trios = zip(sequence.arcs, guess.arcs, lengths, strict=True)
    return replace(guess, arcs=tuple(_turning(*trio) for trio in trios))


def _turning(arc: FlightArc, own: ArcGuess, length: float) -> ArcGuess:
    turns = own.states.shape[1] > MASS + 1
    if arc.kind.direction_is_state == turns:
        return own
    if turns:
        return with_direction_as_control(own)
    direction = own.controls[:, :3] / np.linalg.norm(own.controls[:, :3], axis=1, keepdims=True)
    turn = np.gradient(direction, own.fractions * length, axis=0)
    fast = np.linalg.norm(turn, axis=1, keepdims=True) / (STARTING_SHARE * MAX_TURN_RATE)
    controls = np.hstack((turn / np.maximum(fast, 1.0), own.controls[:, 3:]))
    return replace(own, states=np.hstack((own.states, direction)), controls=controls)


def with_direction_as_control(own: ArcGuess) -> ArcGuess:
    """An arc whose direction may be a state with that among its controls."""
    if own.states.shape[1] == MASS + 1:
        return own
    controls = np.hstack((own.states[:, MASS + 1 :], own.controls[:, 3:]))
    return replace(own, states=own.states[:, : MASS + 1], controls=controls)
