"""The library under survey, seen through its public face."""

from __future__ import annotations

import re
from dataclasses import replace
from math import log

import ascentopt as ao
from ascentopt.optimal.result.certificate import THRESHOLDS
from ascentopt.units import STANDARD_GRAVITY
from benchmarks.survey.judge import tried
from benchmarks.survey.outcome import Answer

_ITERATIONS = re.compile(r"(\d+) iterations")


def optimise(vehicle: ao.Vehicle, mission: ao.Mission) -> Answer:
    """The library's best ascent, boiled down to what the survey keeps."""
    ascent = ao.optimize(vehicle, mission)
    certificate = ascent.certificate
    verdict = certificate.verdict
    census = certificate.structures
    open_still = () if census is None else (*census.open, *census.active_bounds)
    beyond = ", ".join((*certificate.beyond(), *open_still))
    return Answer(
        certified=verdict.name == "CERTIFIED",
        verdict=verdict.name.lower() + (f": {beyond}" if beyond else ""),
        propellant_used=float(ascent.propellant_used),
        speed_used=_speed_used(ascent),
        iterations=_iterations(ascent),
        numbers={t.name: float(getattr(certificate, t.name)) for t in THRESHOLDS},
        candidates=tried(ascent.candidates),
    )


def _speed_used(ascent: ao.Ascent) -> float | None:
    """Most ideal delta-v in m/s that can have been spent: as if the fairing had never weighed.

    Reckoned from the masses alone, not from the library's own budget. None when an earlier stage
    than the last inserts.
    """
    vehicle, empty = ascent.vehicle, ascent.final_mass - ascent.propellant_margin
    if ascent.plan.inserting_stage != len(vehicle.stages) - 1:
        return None
    exhaust = STANDARD_GRAVITY * vehicle.stages[-1].engine.vacuum_isp
    bare = replace(vehicle, fairing=None)
    return float(bare.ideal_delta_v - exhaust * log(ascent.final_mass / empty))


def _iterations(ascent: ao.Ascent) -> int | None:
    """Of all programs of all candidates, as their histories tell; None when they do not."""
    told = [_ITERATIONS.search(line) for c in ascent.candidates for line in c.history]
    counts = [int(match.group(1)) for match in told if match is not None]
    return sum(counts) if counts else None
