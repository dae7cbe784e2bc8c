"""The arcs of a plan as they are to be flown: what ends each, and what steers it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from enum import Enum

import numpy as np

from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.typing import Floats

SHORT_COAST = 60.0
"""s. A coast whose length the plan was free to choose is flown by the clock if it is shorter, and
guidance steers through it; after a longer one guidance starts anew from where the flight is."""


class EndOf(Enum):
    """What ends an arc."""

    RISE = "an altitude"
    FAIRING = "heating in the nominal air"
    CLOCK = "a time since lift-off"
    BOOSTERS = "burnt-out boosters"
    EMPTY = "an empty tank"
    BURNED = "as much burned as planned"
    WAIT = "a time since the arc began"
    RELIGHT = "the place on the orbit where the plan lights the stage again"
    STATE = "the orbit aimed at, or an empty tank"


@dataclass(frozen=True, eq=False)
class PlannedArc:
    """One arc.

    Args:
        arc: of the sequence.
        flown: as planned.
        ending: what ends it.
        kind: form of the equations, steered where something burns.
    """

    arc: FlightArc
    flown: TrajectoryArc
    ending: EndOf
    kind: ArcKind

    @property
    def began(self) -> float:
        """Time since lift-off, s."""
        return float(self.flown.times[0])

    @property
    def length(self) -> float:
        """As planned, s."""
        return float(self.flown.times[-1] - self.flown.times[0])

    @property
    def start(self) -> Floats:
        """(7,) planned state where it begins."""
        return np.asarray(self.flown.states[0])

    @property
    def end(self) -> Floats:
        """(7,) planned state where it ends."""
        return np.asarray(self.flown.states[-1])

    @property
    def readings(self) -> Readings:
        """What the planned flight tells of itself."""
        return Readings.of(self.flown.readings)

    @property
    def about_apoapsis(self) -> bool:
        """Whether it climbs ever more slowly at its end, or comes down ever faster."""
        states = self.flown.states
        before, after = (_climb(states[k]) for k in (max(len(states) - 3, 0), -1))
        return before > after

    @property
    def upright(self) -> bool:
        """Whether it rises along the vertical."""
        return self.arc.kind.guidance is Guidance.VERTICAL

    @property
    def solid(self) -> bool:
        """Whether its core burns to its end, once lit."""
        return self.arc.kind.core_curve is not None

    @property
    def with_boosters(self) -> bool:
        """Whether boosters burn beside the core, or alone."""
        own = self.arc.parameters
        return own.side_thrust > 0.0 or bool(self.arc.kind.side_curves)


def _climb(state: Floats) -> float:
    return float(state[:3] @ state[3:6] / np.linalg.norm(state[:3]))


def planned_arcs(
    sequence: Sequence, trajectory: Trajectory, free: frozenset[int]
) -> tuple[PlannedArc, ...]:
    """All of them; `free` are the stages whose burns may end before their propellant does."""
    lengths = [float(one.times[-1] - one.times[0]) for one in trajectory.arcs]
    waits = [
        arc.free_coast and length > SHORT_COAST
        for arc, length in zip(sequence.arcs, lengths, strict=True)
    ]
    ends = [_end(sequence, k, waits, free) for k in range(len(lengths))]
    return tuple(
        PlannedArc(arc, flown, ending, _steered(arc.kind))
        for arc, flown, ending in zip(sequence.arcs, trajectory.arcs, ends, strict=True)
    )


def _steered(kind: ArcKind) -> ArcKind:
    """The vertical too is a direction that the platform may miss."""
    if kind.guidance is Guidance.COAST:
        return kind
    return replace(kind, guidance=Guidance.STEERED, direction_is_state=False)


def _end(sequence: Sequence, k: int, waits: list[bool], free: frozenset[int]) -> EndOf:
    arcs, arc = sequence.arcs, sequence.arcs[k]
    if not arc.burning:
        return EndOf.RELIGHT if waits[k] else EndOf.WAIT
    if arc.rise is not None:
        return EndOf.RISE
    if arc.joint.fairing:
        return EndOf.WAIT if arc.kind.body.atmosphere is None else EndOf.FAIRING
    if k == len(arcs) - 1 or waits[k + 1]:
        return EndOf.STATE
    if arcs[k + 1].stage == arc.stage and arcs[k + 1].burning:
        return EndOf.BOOSTERS if arc.joint.mass_drop else EndOf.CLOCK
    return EndOf.BURNED if arc.stage in free else EndOf.EMPTY
