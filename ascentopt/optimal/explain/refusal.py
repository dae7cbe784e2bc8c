"""What is said when there is no answer: beyond the bound, out of reach, stopped or out of time."""

from __future__ import annotations

from dataclasses import replace

import numpy as np

from ascentopt.errors import InfeasibleAscent, OutOfTime
from ascentopt.mission import FlightLimits, Mission
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.bounds.lift_off import stages_beyond_acceleration_limit, why_it_falls_back
from ascentopt.optimal.explain.diagnosis import Diagnosis, diagnose
from ascentopt.optimal.explain.heaviest_payload import HeaviestFlight, heaviest_flight
from ascentopt.optimal.explain.least_violation import LeastViolation, least_violation_of
from ascentopt.optimal.explain.relief import diagnosis_by_payload
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.assembly import ComparedStructures, ascent_of, candidate_of
from ascentopt.optimal.result.candidate import Candidate
from ascentopt.optimal.result.closed_loop import ClosedLoopFlight
from ascentopt.optimal.speeds import in_words
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.parking_orbit import below_the_latitude
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.units import deg

_NONE = FlightLimits.none()


def out_of_bounds(task: Task, refusal: InfeasibleAscent) -> InfeasibleAscent:
    """A refusal by the bound, with the payload that flies."""
    known = heaviest_flight(task, [])
    if not isinstance(known, HeaviestFlight):
        return refusal
    found = diagnosis_by_payload(task, known)
    short = max(refusal.shortfall or 0.0, found.shortfall)
    return InfeasibleAscent(
        f"{refusal.message} Within the limits it is short by {in_words(short)}. {found.advice}",
        shortfall=short,
        diagnosis=replace(found, shortfall=short),
    )


def too_heavy(task: Task, attempts: list[Attempt], known: HeaviestFlight) -> InfeasibleAscent:
    """A refusal of a vehicle that flies with a lighter payload."""
    found = diagnosis_by_payload(task, known)
    return InfeasibleAscent(
        f"{task.vehicle.name}: the orbit cannot be reached; short by "
        f"{in_words(found.shortfall)}, within the limits ({known.attempt.plan}). {found.advice} "
        f"{_what_else(task, found)}{_turned_plane(task.mission)}",
        shortfall=found.shortfall,
        best=_listed(task, attempts),
        diagnosis=found,
    )


def _turned_plane(mission: Mission) -> str:
    """That the orbit's plane does not pass through the pad, where it does not."""
    inclination, latitude = mission.orbit.inclination, abs(mission.site.latitude)
    if inclination is None or not below_the_latitude(mission):
        return ""
    return (
        f" The inclination of {inclination / deg:.4g} deg is below the site's latitude of "
        f"{latitude / deg:.4g} deg: the plane is turned in flight, which takes much of the "
        f"propellant. One of {latitude / deg:.4g} deg or more costs less."
    )


def _what_else(task: Task, found: Diagnosis) -> str:
    """What brings the orbit nearer."""
    if found.eased is not None:
        return "Raise that limit, let those engines throttle further, or lower the orbit."
    if found.payload is not None and found.payload > task.vehicle.payload_mass:
        return (
            "A lighter payload leaves more propellant that the limit on axial acceleration lets "
            "nobody burn. Load ballast, raise that limit or lower the orbit."
        )
    return "Add propellant, take payload off or lower the orbit."


def infeasible(
    task: Task, attempts: list[Attempt], feasible: float | None = None
) -> InfeasibleAscent:
    """A refusal by the solver: how near the attempts came, and what stands in the way.

    ``feasible`` is another payload in kg that flies within the limits.
    """
    known = [attempt for attempt in attempts if attempt.shortfall is not None]
    violation = _least_violation(task, attempts, feasible)
    within = any(attempt.shortfall_keeps_limits for attempt in known)
    but_for_limits = any(attempt.least_violation for attempt in attempts)
    if violation is not None and (not known or (but_for_limits and not within)):
        return InfeasibleAscent(
            f"{task.vehicle.name}: no flight to the orbit keeps the limits. {violation} "
            f"{_ways_out(task.vehicle)}",
            shortfall=violation.excess_speed,
            best=_listed(task, attempts),
            least_violation=violation,
        )
    return _short(task, attempts, known, violation) if known else _without_diagnosis(task, attempts)


def _ways_out(vehicle: Vehicle) -> str:
    """What helps where the air is too thick: throttle, for who has an engine to throttle."""
    throttles = not isinstance(vehicle.stages[0].engine, SolidMotor)
    let = ", let the first stage's engine throttle further" if throttles else ""
    return f"Raise a limit{let}, or give it less thrust at lift-off."


def _or_relax(task: Task) -> str:
    """The advice to relax a limit, where there is one; without air those on loads are none."""
    limits, heated = task.mission.limits, task.vehicle.fairing is not None
    if task.mission.body.atmosphere is None:
        kept = limits.axial_acceleration, limits.pitch_rate
        limits, heated = replace(_NONE, axial_acceleration=kept[0], pitch_rate=kept[1]), False
    return " or relax a limit" if limits != _NONE or heated else ""


def _listed(task: Task, attempts: list[Attempt]) -> tuple[Candidate, ...]:
    return tuple(candidate_of(task.vehicle, attempt, best=False) for attempt in attempts)


def _distance(candidate: Candidate) -> float:
    return np.inf if candidate.shortfall is None else candidate.shortfall


def _in_turn(candidates: tuple[Candidate, ...]) -> str:
    """Each structure once, by the start that came nearest."""
    plans = [one.plan for one in candidates]
    nearest: dict[str, Candidate] = {}
    for one in sorted(candidates, key=_distance):
        nearest.setdefault(one.plan.beside(plans), one)
    return "; ".join(f"{name}: {one.result}" for name, one in nearest.items())


def _short(
    task: Task,
    attempts: list[Attempt],
    known: list[Attempt],
    violation: LeastViolation | None,
) -> InfeasibleAscent:
    """A refusal with the speed that is missing, and what else would fly."""
    closest, short = min(((one, one.shortfall or 0.0) for one in known), key=lambda pair: pair[1])
    found = diagnose(task, closest) if closest.nearest_flight or closest.overdrawn_flight else None
    advice = "".join(f" {text}" for text in (found and found.advice, violation) if text)
    aside = "" if closest.shortfall_keeps_limits else ", limits on loads aside"
    candidates = _listed(task, attempts)
    open_yet = any(one.standing is Standing.UNSOLVED for one in candidates)
    said = (
        "no flight to the orbit was found; the nearest is"
        if open_yet
        else "the orbit cannot be reached;"
    )
    return InfeasibleAscent(
        f"{task.vehicle.name}: {said} short by {in_words(short)}{aside} "
        f"({_in_turn(candidates)}). Add propellant, take payload off, lower the orbit"
        f"{_or_relax(task)}.{advice}{_turned_plane(task.mission)}",
        shortfall=short,
        best=candidates,
        diagnosis=found,
        least_violation=violation,
    )


def _without_diagnosis(task: Task, attempts: list[Attempt]) -> InfeasibleAscent:
    """A refusal where no attempt says how it fares: what else there is to say of the vehicle."""
    vehicle, candidates = task.vehicle, _listed(task, attempts)
    sinks = why_it_falls_back(vehicle, task.mission)
    if sinks is not None:
        missing, why = sinks
        told = f"{vehicle.name}: no flight to the orbit was found; {why}"
        return InfeasibleAscent(told, shortfall=missing, best=candidates)
    pushed = "; ".join(stages_beyond_acceleration_limit(vehicle, task.mission))
    relax = "Relax a limit, or try" if _or_relax(task) else "Try"
    advice = f"{relax} with a lighter payload to see what flies."
    if pushed:
        advice = f"Look here first: {pushed}. Raise the limit, or have less thrust by then."
    return InfeasibleAscent(
        f"{vehicle.name}: no flight to the orbit was found, nor how much speed is missing "
        f"({_in_turn(candidates)}). {advice}",
        best=candidates,
    )


def _least_violation(
    task: Task, attempts: list[Attempt], feasible: float | None
) -> LeastViolation | None:
    """By how much the limits must be raised for the orbit, or else for any flight."""
    beyond = [one for one in attempts if one.least_strained]
    least = min(beyond, key=_factor, default=None)
    return None if least is None else least_violation_of(task, least, feasible)


def _factor(attempt: Attempt) -> float:
    """On the limits of an attempt that violates them."""
    eased = attempt.least_strained
    return np.inf if eased is None else eased.factor


def out_of_time(stop: OutOfTime, attempts: list[Attempt]) -> OutOfTime:
    """A stop by the clock; without a flight to the orbit it says what the nearest one lacks."""
    short = min((one.shortfall for one in attempts if one.shortfall is not None), default=None)
    if stop.best is not None or short is None:
        return stop
    said = stop.message.removesuffix(".")
    nearest = f"the nearest one so far is short by {in_words(short)}"
    return OutOfTime(f"{said}; {nearest}. Allow more.", shortfall=short)


def best_so_far(task: Task, attempts: list[Attempt]) -> Ascent | None:
    """The best flight as it stands, marked so; one within the limits on loads if there is one."""
    reached = [attempt for attempt in attempts if attempt.reached]
    if not reached:
        return None
    best = max(reached, key=lambda attempt: (attempt.keeps_limits, attempt.unspent))
    loads = "hold" if best.keeps_limits else "may be broken"
    mesh = "refined" if best.refined else "the first one"
    line = f"unfinished: limits on loads {loads}, the mesh is {mesh}"
    told = replace(best, history=(*best.history, line))
    others = [attempt for attempt in attempts if attempt is not best]
    ascent = ascent_of(
        task, ClosedLoopFlight.of(task, told), ComparedStructures(others=tuple(others))
    )
    first, *rest = ascent.candidates
    return replace(ascent, candidates=(replace(first, standing=Standing.UNFINISHED), *rest))
