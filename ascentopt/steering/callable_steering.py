"""A steering law of the user's own: any callable from the moment to a direction of thrust."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from numpy.typing import ArrayLike

from ascentopt.arguments import asked, checked, unit_vector
from ascentopt.errors import InputError
from ascentopt.flight.guidance.ending import Ending
from ascentopt.flight.guidance.law import Command, SteeringLaw
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.tables import in_a_line
from ascentopt.validation import require, within


@checked
@dataclass(frozen=True, kw_only=True)
class CallableSteering(SteeringLaw):
    """Thrust points wherever a callable says. Raises `InputError`.

    The callable is shown a `Moment`: clock, mass, inertial position and velocity, the local frame
    (`up`, `east`, `north`), altitude, the motion through the air. It must answer by these alone,
    since integrators ask about instants that they then discard. Where its answer jumps,
    an integrator takes many short steps; prefer what is smooth. On a vertical rise it is not asked.

    Args:
        plan: the burns and coasts.
        direction: from the moment to (3,) along the thrust, inertial, of any length above zero;
            `Moment.inertial` makes one from components up, east and north.
        endings: pairs of an arc's name and when it ends, for arcs that do not know it themselves;
            the last burn is always one of them.
        throttle: of the core.
    """

    plan: FlightPlan
    direction: Callable[[Moment], ArrayLike]
    endings: tuple[tuple[str, Ending], ...] = ()
    throttle: float = 1.0

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        fix = "Give a function from a Moment to three numbers."
        owner, good = "CallableSteering", callable(self.direction)
        require(owner, "direction", self.direction, "", "callable", fix, holds=good)
        fix = "Give a fraction of full thrust."
        within(owner, "throttle", self.throttle, "", (0.0, 1.0), fix)

    def command(self, now: Moment) -> Command:
        """As the callable says. Raises `InputError` when that is no direction."""
        told = asked(lambda: self._when(now), "direction", self.direction, now)
        found = unit_vector(told)
        if found is None:
            raise InputError(
                f"{self._when(now)}, direction returned {told!r}; it must be three finite numbers, "
                "not all zero. Return an inertial vector, for instance "
                "moment.inertial(up, east, north)."
            )
        return Command(found, self.throttle)

    def _when(self, now: Moment) -> str:
        return f"CallableSteering: {now.time:.3f} s after lift-off, on arc {now.arc.name!r}"

    def ending(self, arc: FlightArc) -> Ending | None:
        """As given, or None."""
        return dict(self.endings).get(arc.name)
