"""Flights that do not end as they should."""

from __future__ import annotations

from ascentopt.flight.results.telemetry import Readings
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.units import km


class FlightError(RuntimeError):
    """A flight that could not be finished.

    Its text says first what became of it.

    Attributes:
        arc: name of the arc on which it ended.
        time: s since lift-off.
        trajectory: what was flown until then.
        verdict: what became of it, in a few words.
    """

    verdict = "not in orbit, the flight ended"

    def __init__(self, message: str, *, arc: str, time: float, trajectory: Trajectory) -> None:
        super().__init__(message)
        self.message = message
        self.arc = arc
        self.time = time
        self.trajectory = trajectory

    def __reduce__(self) -> tuple[object, ...]:
        """Keep the attributes when the exception crosses a process border."""
        return (_remade, (type(self), self.message, self.arc, self.time, self.trajectory))


class HitGround(FlightError):
    """The vehicle came down to the level of the site, or below it."""

    verdict = "not in orbit, it fell back"


class OutOfPropellant(FlightError):
    """Everything that could burn was burned before the arc's end was reached."""

    verdict = "not in orbit, it ran out of propellant"


class EndingNotReached(FlightError):
    """The arc became longer than it may be, or its end was not defined any more."""


class IntegrationFailed(FlightError):
    """No step was small enough: the law commands something that is not piecewise smooth."""


def place_text(trajectory: Trajectory) -> str:
    """When and where a flight ends."""
    end = Readings.of(trajectory.arcs[-1].readings[-1])
    return (
        f"at {float(end.time):.3f} s, {float(end.altitude) / km:.3f} km high, "
        f"{float(end.downrange) / km:.1f} km from the site and at {float(end.speed):.0f} m/s"
    )


def _remade(
    kind: type[FlightError], message: str, arc: str, time: float, trajectory: Trajectory
) -> FlightError:
    return kind(message, arc=arc, time=time, trajectory=trajectory)
