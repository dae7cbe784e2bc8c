"""Where the thrust points, as an expression: what a steering law gives to be flown compiled."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Callable, Hashable
from dataclasses import dataclass, fields
from functools import lru_cache
from typing import Any

import casadi as ca

from ascentopt.arguments import asked, is_ours, told
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.forces import Forces
from ascentopt.flight.dynamics.local_frame import local_axes
from ascentopt.typing import Expr
from ascentopt.world.air import air_velocity
from ascentopt.world.body import Body
from ascentopt.world.ellipsoid import altitude


@dataclass(frozen=True, kw_only=True)
class View:
    """What a formula may look at; expressions, SI, vectors (3) inertial.

    Attributes:
        time: s since lift-off; phase_time: s since the present phase of the law began.
        position, velocity, air_velocity: of the vehicle; the last relative to the air.
        up, east, north: unit, of the ellipsoid.
        altitude: m above the ellipsoid.
    """

    time: Expr
    phase_time: Expr
    position: Expr
    velocity: Expr
    air_velocity: Expr
    up: Expr
    east: Expr
    north: Expr
    altitude: Expr


@dataclass(frozen=True, kw_only=True)
class HeadedView(View):
    """The same for a flight that knows where it is to go.

    Attributes:
        altitude: m above the ellipsoid, zero below it: rounding puts a pad there, and roots end.
        ahead: (3,) unit, horizontal, towards the heading of the flight.
    """

    ahead: Expr

    @classmethod
    def of(cls, view: View, heading: Expr) -> HeadedView:
        """A view towards a heading in rad from north, clockwise."""
        ahead = ca.sin(heading) * view.east + ca.cos(heading) * view.north
        own = {one.name: getattr(view, one.name) for one in fields(view)}
        return cls(**{**own, "altitude": ca.fmax(view.altitude, 0.0)}, ahead=ahead)

    def leaned(self, angle: Expr) -> Expr:
        """(3,) unit vector that leans from the vertical by an angle in rad, towards `ahead`."""
        return ca.cos(angle) * self.up + ca.sin(angle) * self.ahead


def view_of(body: Body, clock: tuple[Expr, Expr], position: Expr, velocity: Expr) -> View:
    """The view from a place; `clock` holds time and phase_time."""
    up, east, north = local_axes(body, position)
    return View(
        time=clock[0],
        phase_time=clock[1],
        position=position,
        velocity=velocity,
        air_velocity=air_velocity(body, position, velocity),
        up=up,
        east=east,
        north=north,
        altitude=altitude(body, position),
    )


@dataclass(frozen=True)
class Push:
    """What the core adds; expressions, SI.

    Attributes:
        none, full: all that acts without the core, and at its full thrust.
        later: dynamic pressure in Pa `SOON` s later if the velocity stays what it is; None without
            air.
    """

    none: Forces
    full: Forces
    later: Expr | None


SOON = 0.5
"""s, over which a dynamic pressure tells how it changes with the altitude alone. Over a hundredth
what a table's neighbouring pieces differ by, where one stands for both, is a metre in orbit."""


Computed = Callable[[Any], tuple[float, float, float]]
"""From a `Moment` to a unit inertial vector (3)."""


class Formula(ABC):
    """A direction of thrust that follows from the view and a few numbers.

    The form is the class together with `form`; only the numbers may differ between two formulas
    that share a compiled function.
    """

    @property
    def form(self) -> tuple[Hashable, ...]:
        """What else, beside the class, decides the shape of the expression."""
        return ()

    @property
    @abstractmethod
    def numbers(self) -> tuple[float, ...]:
        """The numbers, in the order in which `direction` reads them."""

    @abstractmethod
    def direction(self, view: View, numbers: Expr) -> Expr:
        """(3,) unit vector; `numbers` are symbols in the place of the formula's own."""

    @property
    def computed(self) -> Computed | None:
        """The Python function that says the direction; None where `direction` is all there is.

        With one, the formula's first three numbers stand for the direction: whoever flies puts
        there what the function says of the moment.
        """
        return None

    @property
    def throttles(self) -> bool:
        """Whether `throttle` says anything but full thrust."""
        return False

    @property
    def strictness(self) -> float:
        """How many times less error than usual a step is allowed: more than one for sharp turns."""
        return 1.0

    def throttle(self, view: View, push: Push, numbers: Expr) -> Expr:
        """Fraction of the core's full thrust."""
        return 1.0

    @property
    def key(self) -> FormulaKey:
        """What stands for the form where compiled functions are kept."""
        return FormulaKey(type(self), self.form, self)


def direction_of(formula: Formula, view: View, numbers: Expr) -> Expr:
    """(3,) what a formula says, whoever wrote it.

    Raises:
        InputError: where it fails, or says no vector.
    """
    if is_ours(formula):
        return formula.direction(view, numbers)
    owner = f"formula {type(formula).__name__}"
    found = asked(owner, "direction", formula.direction, view, numbers)
    if getattr(found, "shape", None) not in {(3, 1), (1, 3)}:
        raise InputError(
            f"{owner}: direction returned {told(found)}; it must be an expression of shape (3, 1). "
            "Return a unit vector, for instance view.up."
        )
    return found if found.shape == (3, 1) else found.T


class BentFormula(Formula):
    """A formula with corners in it, and another between them: what steps take one at a time."""

    @property
    @abstractmethod
    def corners(self) -> tuple[float, ...]:
        """Values of the abscissa at which it has corners, increasing, one at least."""

    @property
    @abstractmethod
    def pieces(self) -> tuple[Formula, ...]:
        """Below the first corner, between corners, above the last; all of one form."""

    @abstractmethod
    def abscissa(self, view: View) -> Expr:
        """What the corners are values of."""


class FormulaKey:
    """A formula compared by its form alone."""

    def __init__(self, kind: type[Formula], form: tuple[Hashable, ...], formula: Formula) -> None:
        self._same = (kind, form)
        self.formula = formula

    def __eq__(self, other: object) -> bool:
        return isinstance(other, FormulaKey) and self._same == other._same

    def __hash__(self) -> int:
        return hash(self._same)


@lru_cache(maxsize=128)
def direction_function(body: Body, key: FormulaKey) -> ca.Function:
    """Direction (3) from time, phase_time and state (6) in one column, and the numbers."""
    x, numbers = ca.SX.sym("x", 8), ca.SX.sym("p", len(key.formula.numbers))
    view = view_of(body, (x[0], x[1]), x[2:5], x[5:8])
    found = ca.cse(direction_of(key.formula, view, numbers))
    return ca.Function("direction", [x, numbers], [ca.densify(found)])
