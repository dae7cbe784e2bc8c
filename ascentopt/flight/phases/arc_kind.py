"""The form of an arc's equations: everything about an arc that is not a number."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

from ascentopt.rocket import DragCurve, SolidMotor
from ascentopt.world import Body


class Guidance(Enum):
    """Who decides where the thrust points."""

    VERTICAL = "the local vertical"
    STEERED = "the steering law"
    COAST = "nobody: the engines are off"


NUMBERS = (
    "thrust",  # N, core, vacuum, full throttle; a factor on the curve of a solid motor
    "mass_flow",  # kg/s, core; a factor on the curve's flow likewise
    "exit_area",  # m^2, core
    "side_thrust",  # N, all boosters of constant thrust together, vacuum
    "side_mass_flow",  # kg/s
    "side_exit_area",  # m^2, all boosters
    "reference_area",  # m^2
    "drag_factor",  # the constant coefficient, or a factor on the curve
    "normal_force_slope",  # 1/rad
    # s, subtracted from the clock of a solid core; or kg, from which its mass is subtracted
    "core_ignition",
)


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
        """Names of the parameters of an arc of this kind."""
        return (*NUMBERS, *(f"side_ignition_{k}" for k in range(len(self.side_curves))))
