"""What is raised when the input is wrong or when the vehicle cannot fly the mission."""

from __future__ import annotations

from typing import Any


class InputError(ValueError):
    """A description that cannot be right; the text names the thing, its value, rule and fix."""


class UnusualInputWarning(UserWarning):
    """A value that is possible and mostly a slip; the text names thing, value, what is usual, fix.

    It is told once where the description is made. To go on with it in silence:
    ``warnings.filterwarnings("ignore", category=ascentopt.UnusualInputWarning)``.
    """


class InfeasibleAscent(RuntimeError):
    """No ascent exists within the limits.

    `shortfall` is the speed in m/s by which the nearest flight fails (None when it is not known):
    what is missing at the insertion within the limits or, where the limits on loads keep every
    flight from the orbit, how much too fast the one that violates them least goes through the air
    (`least_violation` is then there, and `diagnosis` is not). `best` is whatever came closest (None
    when nothing was flown), `diagnosis` says what would fly and which limits stand in the way (None
    when no flight came near), and `least_violation` by how much the limits on loads would have to
    be raised (None when they are not what stands in the way, or that is not known).
    """

    def __init__(
        self,
        message: str,
        *,
        shortfall: float | None = None,
        best: object | None = None,
        diagnosis: Any = None,
        least_violation: Any = None,
    ) -> None:
        super().__init__(message)
        self.message = message
        self.shortfall = shortfall
        self.best = best
        self.diagnosis = diagnosis
        self.least_violation = least_violation

    @property
    def trajectory(self) -> Any:
        """Of the best flight found, flown independently as far as it goes; None where none is."""
        return getattr(self.diagnosis or self.least_violation, "trajectory", None)

    def __reduce__(self) -> tuple[object, ...]:
        """Keep the attributes when the exception crosses a process border."""
        state = {
            "shortfall": self.shortfall, "best": self.best, "diagnosis": self.diagnosis,
            "least_violation": self.least_violation,
        }  # fmt: skip
        return (type(self), (self.message,), state)


class UnconfirmedAscent(InfeasibleAscent):
    """A flight was found, but the independent flight of its steering does not bear it out.

    It misses the orbit, or breaks a limit, by far more than a certificate allows: there may be an
    ascent, but this is none. `best` is the flight with its certificate, all the same.
    """


class OutOfTime(RuntimeError):
    """The time allowed was up before the answer was there.

    `best` is what was finished: of `optimize` the best flight so far, marked as unfinished, of
    other studies what they return, as far as it goes; None where there was nothing yet.
    `shortfall` is the missing speed in m/s of the nearest flight where `optimize` found none to the
    orbit, if one is known.
    """

    def __init__(
        self, message: str, *, best: object | None = None, shortfall: float | None = None
    ) -> None:
        super().__init__(message)
        self.message = message
        self.best = best
        self.shortfall = shortfall

    def __reduce__(self) -> tuple[object, ...]:
        """Keep the attributes when the exception crosses a process border."""
        return (type(self), (self.message,), {"best": self.best, "shortfall": self.shortfall})


class Interrupted(KeyboardInterrupt):
    """The user stopped long work by Ctrl-C; `best` is what was finished, as in `OutOfTime`."""

    def __init__(self, message: str, *, best: object | None = None) -> None:
        super().__init__(message)
        self.message = message
        self.best = best
