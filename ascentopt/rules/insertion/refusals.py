"""Why a flight cannot be brought into the orbit by an insertion."""

from __future__ import annotations

from ascentopt.flight.compiled.failures import CompiledFlightError


class TooHigh(CompiledFlightError):
    """The flight climbs so steeply that it cannot be brought into the orbit where it peaks."""


class BeyondOrbit(TooHigh):
    """The apoapsis passes the orbit before the engine that is to be cut off there is lit."""


class StageNotNeeded(TooHigh):
    """The stages below the one that should end in the orbit have more than the orbit takes."""


class CoastTooShort(TooHigh):
    """The burn at the apoapsis, sought to its end, would have to begin before the cut-off."""


class NoTimeToCoast(TooHigh):
    """The burn at the apoapsis would have to begin before the cut-off, as a first guess has it.

    Attributes:
        share: of half the burn, the time to the apoapsis at cut-off.
    """

    def __init__(self, burn: float, left: float) -> None:
        super().__init__(
            f"the burn at the apoapsis takes {burn:.0f} s, half of it before the apoapsis, which "
            f"is only {left:.0f} s away when it reaches the orbit; one long burn needs no coast"
        )
        self.share = left / (0.5 * burn)


class TooLittlePropellant(CompiledFlightError):
    """Even what must be gained along the ground takes more than there is."""


class TooFlat(CompiledFlightError):
    """The flight sinks again before it can be cut off."""
