"""The form of an arc's equations: everything about an arc that is not a number."""

from __future__ import annotations

from dataclasses import dataclass, fields
from enum import Enum
from typing import Generic, TypeVar

from ascentopt.rocket import DragCurve, SolidMotor
from ascentopt.typing import Value
from ascentopt.world import Body


class Guidance(Enum):
    """Who decides where the thrust points."""

    VERTICAL = "the local vertical"
    STEERED = "the steering law"
    COAST = "nobody: the engines are off"


@dataclass(frozen=True, kw_only=True)
class ArcKind:
    """What decides the form of the equations of motion on an arc.

    Args:
        body: gravity, air, shape and spin.
        guidance: where the thrust points.
        drag_curve: drag coefficient against Mach number; None for a constant one.
        throttled: whether the throttle is a control.
        core_curve: solid motor of the core, None for a constant thrust.
        core_clock_starts: whether a solid core is lit as the arc begins, rather than at a set time.
        core_by_mass: whether a solid core's curve is read by what it has burned, since no clock
            tells when it was lit: a burn from a free instant, after something was dropped.
        side_curves: motors of solid boosters that burn, with the number of each.
        direction_is_state: whether the direction is a state that turns at a limited rate.
    """

    body: Body
    guidance: Guidance
    drag_curve: DragCurve | None = None
    throttled: bool = False
    core_curve: SolidMotor | None = None
    core_clock_starts: bool = False
    core_by_mass: bool = False
    side_curves: tuple[tuple[SolidMotor, int], ...] = ()
    direction_is_state: bool = False

    @property
    def numbers(self) -> tuple[str, ...]:
        """Names of the parameters of an arc of this kind; see `ArcParameters`."""
        return (*NUMBERS, *(f"side_ignition_{k}" for k in range(len(self.side_curves))))


T = TypeVar("T")
"""Floats, arrays or expressions: whatever the equations are to be evaluated with."""


@dataclass(frozen=True, kw_only=True)
class ArcParameters(Generic[T]):
    """The parameters of an arc's equations by name, SI.

    Args:
        thrust: N, of the core in vacuum at full throttle; for a solid motor a factor on its curve.
        mass_flow: kg/s, of the core; likewise a factor on the flow of a solid motor's curve.
        exit_area: m^2, of the core.
        side_thrust: N, of all boosters of constant thrust together, in vacuum.
        side_mass_flow: kg/s, of the same.
        side_exit_area: m^2, of all boosters.
        reference_area: m^2.
        drag_factor: the constant coefficient, or a factor on the curve.
        normal_force_slope: 1/rad.
        core_ignition: s, subtracted from the clock of a solid core; or kg, from which its mass is
            subtracted.
        side_ignitions: s after lift-off, one for each of the kind's side curves.
    """

    thrust: T
    mass_flow: T
    exit_area: T
    side_thrust: T
    side_mass_flow: T
    side_exit_area: T
    reference_area: T
    drag_factor: T
    normal_force_slope: T
    core_ignition: T
    side_ignitions: tuple[T, ...] = ()

    @classmethod
    def of(cls, kind: ArcKind, numbers: Value) -> ArcParameters[T]:
        """By name what stands in a vector in the order of `ArcKind.numbers`."""
        own = {name: numbers[k] for k, name in enumerate(NUMBERS)}
        sides = range(len(NUMBERS), len(kind.numbers))
        return cls(**own, side_ignitions=tuple(numbers[k] for k in sides))

    @property
    def numbers(self) -> tuple[T, ...]:
        """All of them in the order of `ArcKind.numbers`."""
        return (*(getattr(self, name) for name in NUMBERS), *self.side_ignitions)


NUMBERS = tuple(one.name for one in fields(ArcParameters) if one.name != "side_ignitions")
"""Names of the parameters that every arc has, in order."""
