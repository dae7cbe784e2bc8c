"""What a rule of thumb for the dense air is: phases of steering that follow from a few numbers."""

from __future__ import annotations

import warnings
from collections.abc import Callable
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any

import casadi as ca
import numpy as np

from ascentopt.arguments import asked, checked
from ascentopt.errors import InputError
from ascentopt.flight.guidance.direction import Formula, HeadedView, View
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.mission import Mission
from ascentopt.rules.laws.open_number import Open
from ascentopt.steering.programme import Phase
from ascentopt.typing import Expr


@checked
@dataclass(frozen=True, eq=False, kw_only=True)
class Pad:
    """Where a rule begins.

    Attributes:
        mission: to be flown.
        sequence: the arcs that will be flown.
        heading: rad from north, clockwise, towards which the flight is to tip over; it is sought
            where the orbit's inclination is given.
    """

    mission: Mission
    sequence: Sequence
    heading: float


class Rule:
    """Steering through the dense air by a few numbers, one to five, which tuning chooses.

    A rule has a `name`, its `open` numbers, and either a `direction`, or `steps` for one that goes
    through phases. It is hashable and keeps no memory: a class without fields, or a frozen
    dataclass. `ascentopt.rules` shows one, and what must hold. `CallableRule` makes one of a Python
    function.

    Attributes:
        name: as the trade calls it.
        open: the numbers. The last one should be what tips the vehicle over: tuning looks it
            through first, with the others as usual.
    """

    if TYPE_CHECKING:

        @property
        def name(self) -> str:
            """As the trade calls it."""

        @property
        def open(self) -> tuple[Open, ...]:
            """The numbers, the one that tips over last."""

    def __eq__(self, other: object) -> bool:
        """Rules of one class without fields are one; a dataclass compares its fields."""
        return type(self) is type(other) and vars(self) == vars(other)

    def __hash__(self) -> int:
        return hash(type(self))

    @property
    def has_habit(self) -> bool:
        """Whether there are numbers that are flown by habit."""
        own = type(self).habitual is not Rule.habitual
        return own or all(one.usual is not None for one in self.open)

    def habitual(self, pad: Pad) -> tuple[float, ...]:
        """What is flown by habit; the middle of its range for a number that has none."""
        return tuple(one.middle if one.usual is None else one.usual for one in self.open)

    def nominal(self, pad: Pad) -> tuple[float, ...]:
        """Where tuning begins: the habit, if nothing else is known."""
        return self.habitual(pad)

    def as_flown(self, values: tuple[float, ...], rise_speed: float) -> tuple[float, ...]:
        """The numbers that hold where the vertical rise ends at this speed in the air, m/s."""
        return values

    def direction(self, view: HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        """Along the thrust, from the end of the vertical rise until the insertion begins.

        NumPy's functions act on expressions: `np.sqrt`, `np.fmin`, and `np.where` instead of `if`.

        Args:
            view: what may be looked at, as CasADi expressions: clock, motion, altitude, local frame
                and the heading of the flight.
            numbers: a symbol for each open number, in their order.

        Returns:
            (3,) inertial, or three expressions in a row, of any length above zero, finite wherever
            the vehicle may fly.
        """
        raise NotImplementedError

    def steps(self, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
        """The phases for these numbers; a single one, by `direction`, where that is given.

        Raises:
            CompiledFlightError: when no flight has these numbers.
        """
        return (Phase(formula=RuleDirection(rule=self, values=values, heading=pad.heading)),)

    def remark(self, pad: Pad) -> str:
        """What else should be known of its flights from there; empty where its numbers say all."""
        return ""

    def along(self, pad: Pad, first: tuple[float, ...], last: tuple[float, ...]) -> Rule:
        """The same rule, quicker for many flights with these numbers before the last one.

        `last` are the increasing values that the last number will take.
        """
        return self

    def learning(self) -> Rule:
        """The same rule, quicker for many flights with numbers of any kind; for one thread."""
        return self


def steps_of(rule: Rule, values: tuple[float, ...], pad: Pad) -> tuple[Phase, ...]:
    """The phases of a rule, whoever wrote it.

    Raises:
        InputError: where its `steps` fails.
        CompiledFlightError: when no flight has these numbers.
    """
    found: tuple[Phase, ...] = asked(f"rule {rule.name!r}", "steps", rule.steps, values, pad)
    return found


@dataclass(frozen=True, kw_only=True)
class RuleDirection(Formula):
    """The direction of a rule that gives it as an expression.

    Args:
        rule: whose `direction` it is.
        values: of its numbers.
        heading: rad from north, clockwise.
    """

    rule: Rule
    values: tuple[float, ...]
    heading: float

    def __str__(self) -> str:
        pairs = zip(self.rule.open, self.values, strict=True)
        told = ", ".join(str(one.valued(value)) for one, value in pairs)
        return f"rule {self.rule.name!r} with {told}"

    @property
    def form(self) -> tuple[Rule]:
        """The rule."""
        return (self.rule,)

    @property
    def numbers(self) -> tuple[float, ...]:
        """The rule's, and the heading."""
        return (*self.values, self.heading)

    def direction(self, view: View, numbers: Expr) -> Expr:
        """(3,) the rule's, made a unit vector. Raises `InputError` for what is no vector."""
        count = len(self.values)
        headed = HeadedView.of(view, numbers[count])
        own = tuple(numbers[k] for k in range(count))
        found = self._told(headed, own)
        return found / ca.norm_2(found)

    def _told(self, view: HeadedView, own: tuple[Expr, ...]) -> Expr:
        owner, direction = f"rule {self.rule.name!r}", self.rule.direction
        found = _by_numpy_too(lambda: asked(owner, "direction", direction, view, own))
        if isinstance(found, list | tuple | np.ndarray) and len(found) == 3:
            found = asked(owner, "direction, three in a row,", ca.vertcat, *found)
        shape = getattr(found, "shape", None)
        if shape not in {(3, 1), (1, 3)}:
            raise InputError(
                f"rule {self.rule.name!r}: direction returned {found!r}, of shape {shape}; it must "
                "be an expression of shape (3, 1), or three in a row. Return a vector, as "
                "view.leaned(angle) or [x, y, z]."
            )
        return found if shape == (3, 1) else found.T


def _by_numpy_too(call: Callable[[], Any]) -> Any:
    """What is called, whose NumPy functions may act on CasADi expressions without a warning."""
    with warnings.catch_warnings():
        warnings.filterwarnings("ignore", "(?s).*numpy function was called", FutureWarning)
        return call()
