"""Numbers of the whole vehicle and of its day that may scatter."""

from __future__ import annotations

from dataclasses import dataclass
from enum import Enum

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.scatter import sensible
from ascentopt.studies.dispersions.scatter.dispersion import Measure, NumberDispersion
from ascentopt.studies.dispersions.scatter.distributions import Distribution
from ascentopt.studies.dispersions.scatter.draft import DeviationsDraft
from ascentopt.studies.dispersions.scatter.parts import check_share
from ascentopt.typing import Floats
from ascentopt.validation import require


@checked
@dataclass(frozen=True)
class PayloadDispersion(NumberDispersion):
    """Mass of the payload, in kg off what the description says. Raises `InputError`."""

    by: Distribution

    name = "payload"
    unit = "kg"

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse a scatter that may leave less than no payload. Raises `InputError`."""
        mass, far = vehicle.payload_mass, self.by.farthest
        require(
            "PayloadDispersion", "the farthest draw", float(f"{far:.6g}"), "kg",
            f"at most the payload of {mass:g} kg", "Give kilograms, or cut it by TruncatedNormal.",
            holds=far <= mass,
        )  # fmt: skip

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As kilograms more."""
        draft.arrays["payload"] += values

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By the partial of the payload."""
        return Measure((("payload", 1.0),))


@checked
@dataclass(frozen=True)
class DragDispersion(NumberDispersion):
    """Drag coefficient at every Mach number, as a share. Raises `InputError`."""

    by: Distribution

    name = "drag"
    unit = "-"

    def __post_init__(self) -> None:
        check_share("DragDispersion", self.by)
        sensible.DRAG.check("DragDispersion", "the standard deviation", self.by.spread)

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse it where there is no drag. Raises `InputError`."""
        check_air("DragDispersion", vehicle, mission)

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As factors on the coefficient."""
        draft.arrays["drag"] *= 1.0 + values

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By the partial of the reference area, to which drag is proportional as well."""
        return Measure((("reference area", 100.0),))


@checked
@dataclass(frozen=True)
class DensityDispersion(NumberDispersion):
    """Density of the air at every altitude, as a share. Raises `InputError`.

    The pressure, which takes thrust from nozzles, stays as it is. A day that is warmer at one
    altitude and colder at another is no single number: fly it as an atmosphere of its own.
    """

    by: Distribution

    name = "density"
    unit = "-"

    def __post_init__(self) -> None:
        check_share("DensityDispersion", self.by)
        sensible.DENSITY.check("DensityDispersion", "the standard deviation", self.by.spread)

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse it where there is no air. Raises `InputError`."""
        check_air("DensityDispersion", vehicle, mission)

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As factors at every altitude."""
        draft.scale_density(np.zeros(1), 1.0 + values[:, None])

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By the partial of the reference area: the force of the air is density times area."""
        return Measure((("reference area", 100.0),))


@checked
@dataclass(frozen=True)
class NormalForceDispersion(NumberDispersion):
    """Slope of the normal force against the angle of attack, as a share. Raises `InputError`."""

    by: Distribution

    name = "normal force"
    unit = "-"

    def __post_init__(self) -> None:
        check_share("NormalForceDispersion", self.by)
        sensible.DRAG.check("NormalForceDispersion", "the standard deviation", self.by.spread)

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse it where there is no normal force. Raises `InputError`."""
        check_air("NormalForceDispersion", vehicle, mission)
        slope = vehicle.aerodynamics.normal_force_slope if vehicle.aerodynamics is not None else 0.0
        fix = "Leave it out, or give the vehicle's aerodynamics a normal_force_slope."
        require(
            "NormalForceDispersion", "the vehicle's normal_force_slope", slope, "1/rad",
            "above zero to scatter", fix, holds=slope > 0.0,
        )  # fmt: skip

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As factors on the slope."""
        draft.arrays["normal_force"] *= 1.0 + values


class PadAxis(Enum):
    """Axes on the pad at lift-off."""

    EAST = 0
    NORTH = 1
    UP = 2


@checked
@dataclass(frozen=True)
class AlignmentDispersion(NumberDispersion):
    """Angle in rad by which the inertial platform is turned on the pad. Raises `InputError`.

    Thrust points where guidance means it to, turned by it, on the whole flight. About up it is the
    azimuth, a positive angle turning it from east to north.

    Args:
        by: its distribution.
        about: the axis.
    """

    by: Distribution
    about: PadAxis = PadAxis.UP

    unit = "rad"

    def __post_init__(self) -> None:
        sensible.ALIGNMENT.check("AlignmentDispersion", "the standard deviation", self.by.spread)

    @property
    def name(self) -> str:
        """With its axis."""
        return f"alignment about {self.about.name.lower()}"

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Every vehicle stands on a pad."""

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As a rotation."""
        draft.arrays["alignment"][:, self.about.value] += values


def check_air(owner: str, vehicle: Vehicle, mission: Mission) -> None:
    """Refuse what the air does where there is none. Raises `InputError`."""
    if vehicle.aerodynamics is None or mission.body.atmosphere is None:
        what = f"the vehicle {vehicle.name!r} has no aerodynamics"
        if mission.body.atmosphere is None:
            what = f"{mission.body.name} has no atmosphere"
        raise InputError(f"{owner}: {what}; it must have some to scatter. Leave it out.")
