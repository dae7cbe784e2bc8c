"""The flight of an attempt, flown independently, whether it arrives or not."""

from __future__ import annotations

from ascentopt.flight.failure import FlightError
from ascentopt.flight.simulate import fly
from ascentopt.flight.trajectory import Trajectory
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.export import steering_of
from ascentopt.optimal.variations import Case


def replayed(case: Case, attempt: Attempt) -> Trajectory:
    """What the steering of an attempt's solution flies, as far as it goes."""
    law = steering_of(attempt, case.mission)
    try:
        return fly(case.vehicle, case.mission, law).trajectory
    except FlightError as failure:
        return failure.trajectory
