"""When each arc of a flight ends: by the steering law, or else by the arc itself."""

from __future__ import annotations

from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import (
    AfterDuration,
    AtAltitude,
    AtEmpty,
    BelowHeating,
    Ending,
)
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.phases.sequence import Sequence


class Endings:
    """When each arc ends: what the law says, or else what the arc itself says."""

    def __init__(
        self,
        sequence: Sequence,
        law: SteeringLaw,
        heating: float | None,
        own: tuple[Ending | None, ...] | None = None,
    ) -> None:
        self._sequence, self._law, self._heating = sequence, law, heating
        arcs = range(len(sequence.arcs))
        self._own = own or tuple(self._of_arc(index) for index in arcs)
        for index in arcs:
            self.of(index, [0.0] * (index + 1))  # nothing is flown when one of them is missing

    def under(self, law: SteeringLaw) -> Endings:
        """Under another law; what the arcs themselves say is known."""
        return Endings(self._sequence, law, self._heating, self._own)

    def of(self, index: int, begun: list[float]) -> Ending:
        """The ending of an arc, given when it and those before it began."""
        arc = self._sequence.arcs[index]
        ending = self._law.ending(arc) or self._own[index] or self._spent(index, begun)
        if ending is None:
            raise InputError(
                f"arc {arc.name!r} may last {arc.duration[0]:g} to {arc.duration[1]:g} s, and the "
                "steering law does not say when it ends. Give the law an ending for it, for "
                "instance AfterDuration(seconds)."
            )
        return ending

    def _of_arc(self, index: int) -> Ending | None:
        """What does not depend on when others began."""
        sequence = self._sequence
        arc = sequence.arcs[index]
        if arc.rise is not None:
            pad = Surroundings(arc.kind.body).altitude(sequence.initial_state())
            return AtAltitude(pad + arc.rise)
        if arc.joint.fairing and arc.burning and self._heating is not None:
            return BelowHeating(self._heating)
        return AfterDuration(arc.duration[0]) if arc.fixed else None

    def _spent(self, index: int, begun: list[float]) -> Ending | None:
        """The rest of a span of known length, or the end of a tank."""
        arc = self._sequence.arcs[index]
        for span in self._sequence.spans:
            if span.last == index + 1 and span.shortest == span.longest:
                spent = begun[index] - begun[span.first]
                return AfterDuration(max(span.longest - spent, 0.0))
        return AtEmpty() if arc.burning and arc.joint.mass_after is not None else None
