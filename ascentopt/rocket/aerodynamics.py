"""What the air does to the vehicle."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket.sensible import DRAG_COEFFICIENT
from ascentopt.typing import Value
from ascentopt.validation import (
    finite,
    increasing,
    instance,
    not_negative,
    numbers,
    positive,
    same_length,
)
from ascentopt.world.table import SmoothTable


@checked
@dataclass(frozen=True, kw_only=True)
class DragCurve:
    """Drag coefficient against Mach number: points that are joined smoothly, without overshoot.

    `mach` increases from zero or more, `cd` is positive; beyond the ends the coefficient is held.
    Raises `InputError`.
    """

    mach: Sequence[float]
    cd: Sequence[float]

    def __post_init__(self) -> None:
        fix = "Give the drag curve as a list of Mach numbers and a list of coefficients."
        for name in ("mach", "cd"):
            object.__setattr__(self, name, numbers("DragCurve", name, getattr(self, name), "", fix))
        same_length("DragCurve", {"mach": tuple(self.mach), "cd": tuple(self.cd)}, fix)
        if len(self.mach) < 2:
            raise InputError(
                f"DragCurve: mach has {len(self.mach)} values; it must have at least 2. "
                "For a constant coefficient give drag_coefficient a number."
            )
        not_negative("DragCurve", "mach[0]", self.mach[0], "", fix)
        increasing("DragCurve", "mach", self.mach, "", "Sort the points by Mach number.")
        for index, coefficient in enumerate(self.cd):
            not_negative("DragCurve", f"cd[{index}]", coefficient, "", fix)
        DRAG_COEFFICIENT.check("DragCurve", "the greatest cd", max(self.cd))

    @cached_property
    def table(self) -> SmoothTable:
        """The curve itself."""
        return SmoothTable.held(x=self.mach, y=self.cd)

    def __call__(self, mach: Value) -> Value:
        """Return the drag coefficient at `mach`: a float, an array or a CasADi scalar."""
        return self.table(mach)


@checked
@dataclass(frozen=True, kw_only=True)
class Aerodynamics:
    """Drag and normal force of the whole vehicle.

    Drag is q S Cd against the air-relative velocity, with S the `reference_area` (m^2) and Cd the
    `drag_coefficient`, a number or a `DragCurve`.

    The normal force is q S times `normal_force_slope` (1/rad) times the sine of the angle of
    attack, against the part of the air-relative velocity that is across the axis; zero = none. At
    small angles that is the linear theory, in which the angle itself stands (H. J. Allen,
    E. W. Perkins, NACA Report 1048, 1951, from memory): half a per cent less at 10 degrees. The
    sine times the speed is the cross flow, which needs no angle: the force is smooth at rest and
    from behind, and beyond 90 degrees it still opposes the cross flow and falls to none at 180.
    Beyond 15 degrees or so it is no model of a real vehicle, whose cross-flow drag grows with the
    square of the sine and is left out; a limit on q alpha keeps flights away from there.

    Raises `InputError`.
    """

    reference_area: float
    drag_coefficient: float | DragCurve
    normal_force_slope: float = 0.0

    def __post_init__(self) -> None:
        owner = "Aerodynamics"
        fix = "Give the area that the coefficients refer to in square metres."
        positive(owner, "reference_area", self.reference_area, "m^2", fix)
        if not isinstance(self.drag_coefficient, DragCurve):
            fix = "Give a number or a DragCurve."
            instance(owner, "drag_coefficient", self.drag_coefficient, (float, int), fix)
            not_negative(owner, "drag_coefficient", self.drag_coefficient, "", fix)
            DRAG_COEFFICIENT.check(owner, "drag_coefficient", self.drag_coefficient)
        fix = "Give the slope of the normal-force coefficient per radian; 0 for none."
        finite(owner, "normal_force_slope", self.normal_force_slope, "1/rad", fix)
        not_negative(owner, "normal_force_slope", self.normal_force_slope, "1/rad", fix)

    def drag_coefficient_at(self, mach: Value) -> Value:
        """Return Cd at `mach`: a float, an array or a CasADi scalar."""
        if isinstance(self.drag_coefficient, DragCurve):
            return self.drag_coefficient(mach)
        return self.drag_coefficient
