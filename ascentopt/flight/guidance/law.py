"""The contract between whoever steers and whoever flies."""

from __future__ import annotations

from abc import ABC, abstractmethod
from dataclasses import dataclass
from typing import NamedTuple

import numpy as np

from ascentopt.flight.dynamics.local_frame import SPIN, Axis
from ascentopt.flight.guidance.direction import Formula
from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.tabulated_curve import Curve
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan


class Command(NamedTuple):
    """What the engines are told: a unit `direction` (3), inertial, and the core's `throttle`."""

    direction: tuple[float, float, float] | np.ndarray
    throttle: float = 1.0


@dataclass(frozen=True)
class WrittenCommand:
    """A command that depends on the seconds since an arc began and on nothing else.

    Attributes:
        curve: components along up, east and north, of any length, and the throttle.
        axis: that east is about.
    """

    curve: Curve
    axis: Axis = SPIN


class SteeringLaw(ABC):
    """Decides, at any moment of powered flight, where the thrust points.

    A law keeps no memory of its own. What depends on the past is written as phases: a phase ends
    when its `Ending` is reached, and the `Moment` says which one it is and for how long. Phases
    pass only while the law is listened to; on a vertical rise they wait.

    Attributes:
        plan: the burns and coasts that the law is made for.
    """

    plan: FlightPlan

    @abstractmethod
    def command(self, now: Moment) -> Command:
        """Direction and throttle; on a vertical rise only the throttle is heeded."""

    def ending(self, arc: FlightArc) -> Ending | None:
        """When the arc ends; None leaves it to the arc's own clock, height or propellant."""
        return None

    def formula(self, arc: FlightArc, phase: int) -> Formula | None:
        """The same direction as an expression, at full throttle; None when there is none.

        A law that has formulas for all of its phases can be flown compiled.
        """
        return None

    def written(self, arc: FlightArc) -> WrittenCommand | None:
        """The command as a curve against the seconds since the arc's start, where it is no more.

        Its pieces begin at `breaks`. An arc that has one is flown compiled, and the law is not
        listened to on it. None where the command depends on anything else.
        """
        return None

    def breaks(self, arc: FlightArc) -> tuple[float, ...]:
        """Seconds after the arc's start at which the command, or a slope of it, jumps."""
        return ()

    @property
    def phases(self) -> tuple[Ending, ...]:
        """What ends each phase but the last, which has no end."""
        return ()
