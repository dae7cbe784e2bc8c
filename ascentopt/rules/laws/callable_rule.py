"""A rule of thumb of the user's own: any Python function of the flight state and open numbers."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from numpy.typing import ArrayLike

from ascentopt.arguments import asked, checked, unit_vector
from ascentopt.errors import InputError
from ascentopt.flight.guidance.direction import Computed, Formula, View
from ascentopt.flight.guidance.moment import HeadedMoment, Moment
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Pad, Rule
from ascentopt.steering.programme import Phase
from ascentopt.typing import Expr
from ascentopt.validation import require

Function = Callable[[HeadedMoment, tuple[float, ...]], ArrayLike]


@checked
@dataclass(frozen=True, kw_only=True)
class CallableRule(Rule):
    """Thrust points wherever a function of the flight state says. Raises `InputError`.

    It is compared and tuned as any rule, some ten to a hundred times slower, since the function is
    asked a dozen times a step. It must answer by its arguments alone. Where its answer jumps, steps
    become short; prefer what is smooth. Below the ground it is not asked.

    Args:
        name: as tables call it.
        open: the numbers, one to five; see `Rule`.
        function: from the moment and the numbers to (3,) along the thrust, inertial, of any length
            above zero. The moment (`HeadedMoment`) has clock, mass, state, motion in the air,
            altitude, local frame (`up`, `east`, `north`, `ahead`), all SI; `moment.leaned(angle)`
            leans from the vertical towards where the flight is to go.
    """

    name: str
    open: tuple[Open, ...]
    function: Function

    def __post_init__(self) -> None:
        owner, fix = f"CallableRule {self.name!r}", "Give a function of a moment and the numbers."
        good = callable(self.function)
        require(owner, "function", self.function, "", "callable", fix, holds=good)

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """A single one."""
        return (Phase(formula=ComputedDirection(rule=self, values=values, heading=pad.heading)),)


@dataclass(frozen=True, kw_only=True)
class ComputedDirection(Formula):
    """The direction that a function computes.

    Args:
        rule: whose function it is.
        values: of its numbers.
        heading: rad from north, clockwise.
    """

    rule: CallableRule
    values: tuple[float, ...]
    heading: float

    @property
    def numbers(self) -> tuple[float, ...]:
        """Three that stand for the direction."""
        return 0.0, 0.0, 1.0

    @property
    def computed(self) -> Computed:
        """Asks the function."""
        return self._direction

    def direction(self, view: View, numbers: Expr) -> Expr:
        """What was computed."""
        return numbers[:3]

    def _direction(self, now: Moment) -> tuple[float, float, float]:
        """(3,) unit. Raises `InputError` when the function returns no direction."""
        moment = now.headed(self.heading)
        told = asked(lambda: self._when(now), "function", self.rule.function, moment, self.values)
        found = unit_vector(told)
        if found is None:
            raise InputError(
                f"{self._when(now)}, its function returned {told!r}; it must be three finite "
                "numbers, not all zero. Return an inertial vector, for instance "
                "moment.leaned(angle)."
            )
        return found

    def _when(self, now: Moment) -> str:
        return (
            f"rule {self.rule.name!r}: with numbers {self.values}, {now.time:.3f} s after "
            f"lift-off, {now.altitude:.0f} m up, on arc {now.arc.name!r}"
        )
