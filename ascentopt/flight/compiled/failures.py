"""Why a compiled flight cannot go on."""

from __future__ import annotations

from ascentopt.flight.guidance.ending import Ending


class CompiledFlightError(RuntimeError):
    """A compiled flight that cannot go on."""


class FellToGround(CompiledFlightError):
    """It came down to the ground."""


class ArcNotEnded(CompiledFlightError):
    """An arc did not come to its end.

    Attributes:
        arc: its name.
    """

    def __init__(self, arc: str, ending: Ending) -> None:
        super().__init__(f"{arc!r} {ending.missed}")
        self.arc = arc
