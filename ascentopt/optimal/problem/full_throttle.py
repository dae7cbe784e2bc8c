"""Burns in which the limit on acceleration asks for no throttle: it is held at full there.

A stage that is lit again breaks such a limit, if at all, as its last burn ends. A throttle that is
free in the burns before is a direction in which the program has next to no answer: two burns around
half a revolution cost the same to a few millionths whether they last 25 s or 30 s, and the solver
creeps along that valley for hundreds of iterations. Where less thrust pays, the costates say so.
"""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import Guess, Solution
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.sequence import FlightArc, Sequence

ROOM = 0.9
"""Share of the limit that a guess must stay below: its burns are some per cent too long or short,
and a throttle held at full that is wanted after all costs a second solve."""

ACTS = 1.0 - 1e-5
"""Share of the limit from which it acts: a path limit within the solver's tolerance."""


def burns_at_full_throttle(sequence: Sequence, guess: Guess, limit: float | None) -> frozenset[str]:
    """Names of burns, followed by another of their stage, that a guess flies below the limit."""
    if limit is None:
        return frozenset()
    return frozenset(
        arc.name
        for k, (arc, own) in enumerate(zip(sequence.arcs, guess.arcs, strict=True))
        if _is_lit_again(sequence, k) and _acceleration(arc, own.states[-1, MASS]) < ROOM * limit
    )


def burns_held_at_full_throttle(sequence: Sequence, solution: Solution) -> frozenset[str]:
    """Names of the burns that were solved so."""
    return frozenset(
        own.name
        for k, own in enumerate(solution.problem.arcs)
        if _is_lit_again(sequence, k) and own.control_bounds and own.control_bounds.lower[-1] == 1.0
    )


def burns_wanting_throttle(
    sequence: Sequence, solution: Solution, limit: float | None, held: frozenset[str]
) -> frozenset[str]:
    """Names of the burns ``held`` at full throttle in which the limit acts all the same."""
    return frozenset(
        arc.name
        for arc, own in zip(sequence.arcs, solution.arcs, strict=True)
        if limit is not None
        and arc.name in held
        and _acceleration(arc, own.states[-1, MASS]) > ACTS * limit
    )


def _is_lit_again(sequence: Sequence, k: int) -> bool:
    """Whether an arc burns with a throttle, and its stage again after a coast."""
    arc, later = sequence.arcs[k], sequence.arcs[k + 1 :]
    coasts = any(one.stage == arc.stage and not one.burning for one in later)
    return arc.kind.throttled and coasts


def _acceleration(arc: FlightArc, mass: np.float64) -> float:
    """At full throttle, outside the air, m/s^2."""
    return float((arc.parameters.thrust + arc.parameters.side_thrust) / mass)
