"""How much ballast a guess should carry where no engine can be cut off.

With too little the family of guesses wastes what is too much by climbing steeply, and the solver
stays with the steep flight: a stack of solids carried 1408 kg so, and 1698 otherwise.
"""

from __future__ import annotations

from dataclasses import replace

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.bounds.impulsive import impulsive_bound
from ascentopt.optimal.guess.family_search import InitialGuess, speed_missing_before_coast
from ascentopt.rocket import Vehicle

FITS = 50.0
"""m/s that the best of the family may miss: the solver finds the rest by better steering."""

HALVINGS = 7
"""Until the ballast is known to a hundredth of what the impulses would carry; 20 ms each."""


def fitting_ballast(
    vehicle: Vehicle, mission: Mission, plan: FlightPlan, start: InitialGuess
) -> float:
    """The most ballast in kg with which a flight of the family comes to the orbit; 0 for none."""
    light, heavy = 0.0, _most(vehicle.with_payload_above(plan.inserting_stage), mission)
    for _ in range(HALVINGS if heavy else 0):
        middle = 0.5 * (light + heavy)
        aboard = replace(plan, ballast=middle, fairing_arc=None)
        missing = speed_missing_before_coast(sequence_of(vehicle, mission, aboard), mission, start)
        light, heavy = (middle, heavy) if missing < FITS else (light, middle)
    return light


def _most(vehicle: Vehicle, mission: Mission) -> float:
    """Ballast in kg with which the ideal delta-v is what the impulses of an ascent take."""
    needed, bare = impulsive_bound(mission), replace(vehicle, fairing=None)
    light, heavy = 0.0, vehicle.lift_off_mass
    for _ in range(20):
        middle = 0.5 * (light + heavy)
        enough = bare.with_ballast(middle).ideal_delta_v >= needed
        light, heavy = (middle, heavy) if enough else (light, middle)
    return light
