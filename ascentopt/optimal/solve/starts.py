"""The guesses that a plan is begun from, in turn."""

from __future__ import annotations

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.guess.family_search import InitialGuess

BOLD = InitialGuess(solver_may_stray=True)
COAST_UP = InitialGuess(coast_to_apoapsis=True, solver_may_stray=True)

STARTS = {
    False: (
        InitialGuess(),
        InitialGuess(altitude_factor=0.6),
        InitialGuess(altitude_factor=0.6, burn_to_depletion=True),
    ),
    True: (BOLD, COAST_UP, InitialGuess(altitude_factor=0.6, solver_may_stray=True)),
}
"""Guesses without and with a restart; further ones where the first leads nowhere."""


def starts(plan: FlightPlan) -> tuple[InitialGuess, ...]:
    """The guesses to try for a plan, in turn."""
    if plan.inserting_stage in plan.coast_before:
        return (
            COAST_UP,
            InitialGuess(altitude_factor=0.8, coast_to_apoapsis=True, solver_may_stray=True),
        )
    return STARTS[plan.restarts > 0]
