"""What the flight with the greatest payload says: what is missing, and what limits give."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.collocation import Envelope
from ascentopt.errors import InputError
from ascentopt.flight.builder import sequence_of
from ascentopt.optimal.diagnosis import Diagnosis, Relief
from ascentopt.optimal.explain.heaviest import Heaviest
from ascentopt.optimal.replay import replayed
from ascentopt.optimal.solving import Solving
from ascentopt.optimal.variations import Case, variations
from ascentopt.rocket import Vehicle

STEP = 1e-3
"""Units by which a limit is changed, as for prices: the Lagrangian is smooth."""

NOTHING = 0.1
"""m/s. A limit whose whole worth is less than this does not stand in the way."""


def diagnosis_of(solving: Solving, known: Heaviest) -> Diagnosis:
    """What is missing, the payload that flies, and the limits that hold it."""
    flown = replace(solving.vehicle, payload_mass=known.flown_payload)
    sequence = sequence_of(flown, solving.mission, known.attempt.plan)
    relief = sorted(_reliefs(solving, known), key=lambda one: -one.gain)
    return Diagnosis(
        shortfall=known.shortfall,
        payload=known.payload,
        limited=True,
        relief=tuple(relief),
        trajectory=replayed(
            Case(flown, solving.mission), replace(known.attempt, sequence=sequence)
        ),
    )


def _reliefs(solving: Solving, known: Heaviest) -> Iterator[Relief]:
    """Limits that act, by the multipliers of the greatest payload, in m/s."""
    attempt, vehicle = known.attempt, known.light
    envelope, worth = Envelope.of(attempt.found), _speed_of_a_kilogram(vehicle)
    for variation in variations(Case(vehicle, solving.mission)):
        if variation.limit is None:
            continue
        try:
            changed = variation.changed(STEP)
            plain = sequence_of(changed.vehicle, changed.mission, attempt.plan)
        except InputError:
            continue
        own = attempt.sequence
        sequence = replace(plain, ballasted=True, most_ballast=own.most_ballast)
        if sequence.names != own.names:
            continue
        told = attempt.told_of(changed.vehicle, changed.mission, sequence, attempt.found)
        problem = told.most_lift_off_mass()
        problem = replace(problem, parameter_values=attempt.found.problem.parameter_values)
        gain = worth * (envelope.change(problem) or 0.0) / STEP
        if gain * variation.limit > NOTHING:
            yield Relief(limit=variation.quantity, unit=variation.unit, gain=gain)


def _speed_of_a_kilogram(vehicle: Vehicle) -> float:
    """Ideal delta-v in m/s that a kilogram of payload costs."""
    more = replace(vehicle, payload_mass=vehicle.payload_mass + 1.0)
    return vehicle.ideal_delta_v - more.ideal_delta_v
