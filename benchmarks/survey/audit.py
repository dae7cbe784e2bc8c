"""Is the default answer the best? The same case from random starts: `--audit` of the survey."""

from __future__ import annotations

import json
import traceback
from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass, replace

import numpy as np

import ascentopt as ao
from ascentopt.collocation import ArcGuess, Guess
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.phases.sequence import Sequence as Arcs
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.guess.family_search import InitialGuess
from ascentopt.optimal.optimize import task_of
from ascentopt.optimal.solve.attempt_at import attempt_from_changed_guess
from ascentopt.optimal.solve.refine import refine_mesh
from ascentopt.optimal.solve.ways_within_limits import impose_limits
from ascentopt.optimal.structure.enumeration import plans
from ascentopt.optimal.task import Task
from ascentopt.units import deg
from benchmarks.survey.bound import impulsive_bound
from benchmarks.survey.draw import Draw
from benchmarks.survey.generator import case
from benchmarks.survey.judge import Family

BEATEN = 1e-3
"""Share of the propellant by which another start must do better to count."""

STARTS = 20


@dataclass(frozen=True, kw_only=True)
class Disturbance:
    """How a guess is changed.

    Args:
        start: what the guess aims at.
        tilt: rad by which the thrust is turned upwards at the start and at the end of each arc.
        stretch: factor on the length of every arc of free length.
        throttle: share of full thrust, where it is a control.
    """

    start: InitialGuess
    tilt: tuple[float, float]
    stretch: float
    throttle: float

    @classmethod
    def drawn(cls, draw: Draw) -> Disturbance:
        """Another pitch programme, other coasts and burns, another throttle."""
        return cls(
            start=InitialGuess(altitude_factor=draw.log_uniform(0.4, 2.5)),
            tilt=(draw.uniform(-25.0, 25.0) * deg, draw.uniform(-25.0, 25.0) * deg),
            stretch=draw.log_uniform(0.4, 2.0),
            throttle=draw.uniform(0.6, 1.0),
        )

    def __call__(self, sequence: Arcs, guess: Guess) -> Guess:
        """The changed guess."""
        lengths = np.diff(guess.instants)
        free = [not arc.fixed for arc in sequence.arcs]
        lengths = np.where(free, self.stretch * lengths, lengths)
        instants = guess.instants[0] + np.concatenate(([0.0], np.cumsum(lengths)))
        pairs = zip(sequence.arcs, guess.arcs, strict=True)
        return replace(guess, instants=instants, arcs=tuple(self._arc(*pair) for pair in pairs))

    def _arc(self, arc: FlightArc, guess: ArcGuess) -> ArcGuess:
        states, controls = guess.states.copy(), guess.controls.copy()
        angles = np.interp(guess.fractions, [0.0, 1.0], self.tilt)
        if arc.kind.direction_is_state:
            states[:, 7:10] = _tilted(states, states[:, 7:10], angles)
        elif arc.kind.guidance is Guidance.STEERED:
            controls[:, :3] = _tilted(states, controls[:, :3], angles)
        if arc.kind.throttled:
            controls[:, -1] = max(self.throttle, arc.min_throttle)
        return ArcGuess(guess.fractions, states, controls)


def _tilted(states: np.ndarray, directions: np.ndarray, angles: np.ndarray) -> np.ndarray:
    """(k, 3) directions turned upwards in the plane that they span with the vertical."""
    up = states[:, :3] / np.linalg.norm(states[:, :3], axis=1, keepdims=True)
    across = up - (up * directions).sum(axis=1, keepdims=True) * directions
    size = np.linalg.norm(across, axis=1, keepdims=True)
    across = np.divide(across, size, out=np.zeros_like(across), where=size > 1e-6)
    turned = np.cos(angles)[:, None] * directions + np.sin(angles)[:, None] * across
    return np.asarray(turned / np.linalg.norm(turned, axis=1, keepdims=True))


@dataclass(frozen=True, kw_only=True)
class Finding:
    """What random starts say about one answer.

    Args:
        seed, label: of the case.
        used: kg of propellant of the default answer; None where it finds no flight.
        best: kg of the best answer of all starts; None where none arrives.
        best_plan: its structure, in words; the default's is ``plan``.
        arrived, starts: how many starts end in the orbit within the limits, of how many.
        apart: how many of those that arrive are worse than the best by more than `BEATEN`.
    """

    seed: int
    label: str
    plan: str
    used: float | None
    best: float | None
    best_plan: str
    arrived: int
    starts: int
    apart: int

    @property
    def gain(self) -> float | None:
        """Share of the propellant that the default answer wastes; inf where it finds nothing."""
        if self.best is None:
            return None
        return float("inf") if self.used is None else (self.used - self.best) / self.used

    @property
    def beaten(self) -> bool:
        """Whether a random start does better by more than `BEATEN`."""
        return self.gain is not None and self.gain > BEATEN

    def to_json(self) -> str:
        """One line of the journal."""
        return json.dumps(asdict(self))

    @classmethod
    def from_json(cls, line: str) -> Finding:
        """The finding that `to_json` wrote."""
        return cls(**json.loads(line))


def audited(seed: int, family: Family = case) -> Finding:
    """The finding on the survey's case of this seed; what crashes becomes its text."""
    drawn = family(seed)
    try:
        return audit(drawn.vehicle, drawn.mission, seed, drawn.label)
    except Exception:  # noqa: BLE001 - one crash is a row, not the end
        return lost(seed, traceback.format_exc(limit=-1).splitlines()[-1], family)


def lost(seed: int, message: str, family: Family = case) -> Finding:
    """The finding of a case that could not be audited."""
    return Finding(
        seed=seed,
        label=family(seed).label,
        plan=f"crashed: {message}",
        used=None,
        best=None,
        best_plan="none",
        arrived=0,
        starts=0,
        apart=0,
    )


def audit(
    vehicle: ao.Vehicle, mission: ao.Mission, seed: int, label: str, starts: int = STARTS
) -> Finding:
    """Solve as the library does, then from `starts` random starts, and compare.

    What no ideal flight could reach is not started at all.
    """
    used, plan = _default(vehicle, mission)
    if vehicle.ideal_delta_v < impulsive_bound(mission):
        starts = 0
    solver = task_of(vehicle, mission)
    known = used if used is not None else float("inf")
    found = list(_answers(solver, Draw(seed), starts, known))
    best = min(found, default=None)
    apart = [one for one in found if best is not None and one[0] > (1.0 + BEATEN) * best[0]]
    return Finding(
        seed=seed,
        label=label,
        plan=plan,
        used=used,
        best=best[0] if best is not None else None,
        best_plan=best[1] if best is not None else "none",
        arrived=len(found),
        starts=starts,
        apart=len(apart),
    )


def _default(vehicle: ao.Vehicle, mission: ao.Mission) -> tuple[float | None, str]:
    try:
        ascent = ao.optimize(vehicle, mission)
    except ao.InfeasibleAscent:
        return None, "refused"
    return ascent.propellant_used, str(ascent.plan)


def _answers(solver: Task, draw: Draw, starts: int, known: float) -> Iterator[tuple[float, str]]:
    """Propellant and structure of each start that arrives; what beats the known one is refined."""
    choices = tuple(plans(solver.vehicle, solver.mission))
    for k in range(starts):
        plan, change = choices[k % len(choices)], Disturbance.drawn(draw)
        attempt = attempt_from_changed_guess(solver, plan, change.start, change)
        if attempt.reached:
            attempt = impose_limits(solver, attempt)
        if not (attempt.reached and attempt.keeps_limits):
            continue
        if _used(solver, attempt) < (1.0 - 0.5 * BEATEN) * known:
            attempt = refine_mesh(solver, attempt)
            if not attempt.refined:
                continue  # a coarse mesh can promise what no flight keeps
        yield _used(solver, attempt), str(attempt.plan)


def _used(solver: Task, attempt: Attempt) -> float:
    margin = attempt.final_mass - attempt.sequence.arcs[-1].least_mass
    return float(solver.vehicle.propellant_mass - margin)


def audit_table(findings: Sequence[Finding], title: str) -> str:
    """The findings as Markdown, the beaten ones marked."""
    beaten = sum(one.beaten for one in findings)
    flown = sum(one.used is not None or one.best is not None for one in findings)
    count = (
        f"{len(findings)} cases, {flown} of which fly; the default answer is beaten by more than "
        f"{100 * BEATEN:g} % of the propellant in {beaten}."
    )
    words = (
        "*Arrived* counts the random starts that end in the orbit within the limits, *apart* those "
        "among them that are worse than the best by more than the same share."
    )
    head = "| seed | case | default kg | best of the starts kg | gain % | arrived | apart | |"
    lines = [
        f"# {title}",
        "",
        count,
        "",
        words,
        "",
        head,
        "|---:|---|---:|---:|---:|---:|---:|---|",
    ]
    return "\n".join([*lines, *(_line(one) for one in findings)]) + "\n"


def _line(one: Finding) -> str:
    used = f"{one.used:.1f} ({one.plan})" if one.used is not None else one.plan
    best = f"{one.best:.1f} ({one.best_plan})" if one.best is not None else "none"
    gain = f"{100 * one.gain:.3f}" if one.gain is not None else ""
    mark = "beaten" if one.beaten else ""
    return (
        f"| {one.seed} | {one.label} | {used} | {best} | {gain} | {one.arrived} of {one.starts} "
        f"| {one.apart} | {mark} |"
    )
