"""A steering law put together from formulas, phase by phase and arc by arc."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.throttle import throttle_at
from ascentopt.flight.phases.arc_kind import Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.steering.throttling import ThrottleProgramme, throttled
from ascentopt.tables import in_a_line
from ascentopt.validation import within


@checked
@dataclass(frozen=True, kw_only=True)
class Phase:
    """A formula that is followed `until` something comes true; the last phase has no end."""

    formula: Formula
    until: Ending | None = None

    __repr__ = in_a_line


@checked
@dataclass(frozen=True, kw_only=True)
class Programme(SteeringLaw):
    """Formulas one after another, and others for arcs that are steered in their own way.

    Args:
        plan: the burns and coasts.
        steps: phases in order; all but the last have an end. Raises `InputError` otherwise.
        by_arc: pairs of an arc's name and the formula that holds there whatever the phase.
        endings: pairs of an arc's name and when it ends, for arcs that do not know it themselves.
        throttle: of the core.
        throttling: the same as it changes in flight, on steered arcs whose engine can be throttled
            and whose formula leaves that open; it goes with full `throttle` only.
    """

    plan: FlightPlan
    steps: tuple[Phase, ...]
    by_arc: tuple[tuple[str, Formula], ...] = ()
    endings: tuple[tuple[str, Ending], ...] = ()
    throttle: float = 1.0
    throttling: ThrottleProgramme | None = None

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give a fraction of full thrust."
        within("Programme", "throttle", self.throttle, "", (0.0, 1.0), fix)
        if self.throttling is not None and self.throttle != 1.0:
            raise InputError(
                f"Programme: throttle is {self.throttle} and throttling is given, too; there must "
                "be one of them. Leave throttle at 1."
            )
        ends = [step.until is not None for step in self.steps]
        if not self.steps or not all(ends[:-1]) or ends[-1]:
            raise InputError(
                f"Programme: of its {len(self.steps)} steps those with an end are {ends}; all but "
                "the last must have one. Give `until` to all but the last step."
            )

    @cached_property
    def phases(self) -> tuple[Ending, ...]:
        """What ends each step but the last."""
        return tuple(step.until for step in self.steps if step.until is not None)

    def command(self, now: Moment) -> Command:
        """As the arc, or else the phase, says."""
        formula = self._at(now.arc, now.phase)
        if not formula.throttles:
            return Command(now.direction(formula), self.throttle)
        if now.arc.kind.guidance is not Guidance.STEERED:
            return Command(now.up, 1.0)
        return Command(now.direction(formula), throttle_at(now, formula))

    def formula(self, arc: FlightArc, phase: int) -> Formula | None:
        """The same; a throttle that is always the same, but not full, is not flown compiled."""
        return self._at(arc, phase) if self.throttle == 1.0 else None

    def ending(self, arc: FlightArc) -> Ending | None:
        """As given, or None."""
        return self._endings.get(arc.name)

    @cached_property
    def _endings(self) -> dict[str, Ending]:
        return dict(self.endings)

    @cached_property
    def _by_arc(self) -> dict[str, Formula]:
        return dict(self.by_arc)

    def _at(self, arc: FlightArc, phase: int) -> Formula:
        formula = self._by_arc.get(arc.name) or self.steps[phase].formula
        if self.throttling is None or not arc.kind.throttled or formula.throttles:
            return formula
        return throttled(formula, self.throttling, arc.min_throttle)


def flown_alike(one: Programme, other: Programme, arc: FlightArc) -> bool:
    """Whether two programmes fly an arc alike, from the same place and phase."""
    return (
        one.ending(arc) == other.ending(arc)
        and dict(one.by_arc).get(arc.name) == dict(other.by_arc).get(arc.name)
        and one.steps == other.steps
        and (one.throttle, one.throttling) == (other.throttle, other.throttling)
    )
