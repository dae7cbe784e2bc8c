"""The library under survey, seen through its public face."""

from __future__ import annotations

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from benchmarks.survey.outcome import Answer


def optimise(vehicle: Vehicle, mission: Mission) -> Answer:
    """The library's best ascent, boiled down to what the survey keeps."""
    import ascentopt as ao

    ascent = ao.optimize(vehicle, mission)
    raise NotImplementedError(ascent)
