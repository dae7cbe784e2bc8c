"""What differs from the description on each of many flights, as arrays over the draws."""

from __future__ import annotations

from dataclasses import dataclass, fields, replace
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.typing import Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class AirDeviations:
    """The air of N flights at K altitudes, linear between them and constant beyond.

    Pressure and temperature, and with them back-pressure and the speed of sound, stay nominal.

    Args:
        altitude: (K,) m above the ellipsoid, increasing; the same for all draws.
        density: (N, K) factors on the density, above zero.
        east, north: (N, K) m/s of wind in addition to the mission's own: where the air goes to.

    Raises:
        InputError: for shapes that do not fit, altitudes that do not increase, and densities of
            zero and below.
    """

    altitude: Floats
    density: Floats
    east: Floats
    north: Floats

    def __post_init__(self) -> None:
        for one in fields(self):
            _keep(self, one.name, getattr(self, one.name))
        count = len(self.density) if self.density.ndim else 0
        knots = self.altitude.size
        if self.altitude.shape != (knots,) or not knots or not np.all(np.diff(self.altitude) > 0.0):
            raise InputError(
                f"AirDeviations: altitude is {self.altitude!r}; it must be a list that increases. "
                "Give altitudes in m from low to high."
            )
        for name in ("density", "east", "north"):
            _check_shape(self, name, (count, knots), "Give a row for each draw, over altitude.")
        if not np.all(self.density > 0.0):
            raise InputError(
                f"AirDeviations: density has the factor {self.density.min()!r}; factors must be "
                "above 0. Give 1 for the nominal density."
            )

    def __len__(self) -> int:
        return len(self.density)

    def __getitem__(self, chosen: Any) -> AirDeviations:
        """Some of the draws, by a slice, a mask or indices."""
        rows = {n: _rows(getattr(self, n), chosen) for n in ("density", "east", "north")}
        return replace(self, **rows)


@dataclass(frozen=True, kw_only=True, eq=False)
class Deviations:
    """What differs from the description on each of N flights.

    A part is a stage or a group of boosters: first the stages from below, then the groups, as
    `DispersedFlight.parts` names them (P in all; S stages). What a part has twice, as boosters of a
    group have, differs by the same.

    Args:
        thrust: (N, P) factors on the thrust in vacuum and on the back-pressure's loss alike; the
            flow goes with it, so that a burn to depletion is as much shorter.
        isp: (N, P) factors on the specific impulse at the same thrust: the flow is divided by it.
        dry_mass: (N, P) kg more in each stage, and in each single booster.
        propellant: (N, P) kg more in each stage, and in each single booster. It burns longer; a
            solid motor delivers it at a flow and thrust larger by the share, in the same time.
        payload: (N,) kg more.
        drag: (N,) factors on the axial drag coefficient.
        normal_force: (N,) factors on the slope of the normal force.
        ignition_delay: (N, S) s by which each stage is lit later than planned; not below 0. That of
            the first stage must be 0: the clock begins at its lift-off.
        separation_delay: (N, P) s by which what is spent hangs on after its burn-out; not below 0.
            A stage coasts with it; beside boosters the core burns on.
        alignment: (N, 3) rad, a small rotation of the inertial platform about the pad's east, north
            and up at lift-off: the thrust points where guidance means it to, turned by it, on the
            whole flight. -0.001 about up is an azimuth 1 mrad too large.
        air: density and wind; None for the nominal air.

    Raises:
        InputError: names what does not fit.
    """

    thrust: Floats
    isp: Floats
    dry_mass: Floats
    propellant: Floats
    payload: Floats
    drag: Floats
    normal_force: Floats
    ignition_delay: Floats
    separation_delay: Floats
    alignment: Floats
    air: AirDeviations | None = None

    def __post_init__(self) -> None:
        for name in _ARRAYS:
            _keep(self, name, getattr(self, name))
        count = self.payload.size
        parts = self.thrust.shape[-1] if self.thrust.ndim == 2 else 0
        stages = self.ignition_delay.shape[-1] if self.ignition_delay.ndim == 2 else 0
        shapes = {"P": (count, parts), "S": (count, stages), "1": (count,), "3": (count, 3)}
        for name, shape in _SHAPES.items():
            _check_shape(self, name, shapes[shape], f"There are {count} draws.")
        if self.air is not None and len(self.air) != count:
            raise InputError(
                f"Deviations: air is of {len(self.air)} draws; it must be of {count}, as payload "
                "is. Give a row for each."
            )
        for name in ("thrust", "isp", "drag", "normal_force"):
            self._check(name, getattr(self, name) > 0.0, "above 0", "Give 1 for the nominal one.")
        for name in ("ignition_delay", "separation_delay"):
            self._check(name, getattr(self, name) >= 0.0, "0 or more", "Give seconds of delay.")
        first = self.ignition_delay[:, :1]
        self._check("ignition_delay", first == 0.0, "0 for the first stage", "Delay none there.")

    def _check(self, name: str, good: np.ndarray, rule: str, fix: str) -> None:
        if not np.all(good):
            wrong = getattr(self, name)[tuple(np.argwhere(~good)[0])]
            raise InputError(f"Deviations: {name} has {float(wrong)!r}; it must be {rule}. {fix}")

    @classmethod
    def none(cls, count: int, *, stages: int, groups: int = 0) -> Deviations:
        """`count` flights of a vehicle of so many stages and groups of boosters as described."""
        parts = stages + groups
        shapes = {"P": (count, parts), "S": (count, stages), "1": (count,), "3": (count, 3)}
        filled: dict[str, Any] = {
            name: np.full(shapes[shape], 1.0 if name in _FACTORS else 0.0)
            for name, shape in _SHAPES.items()
        }
        return cls(**filled)

    def __len__(self) -> int:
        return len(self.payload)

    def __getitem__(self, chosen: Any) -> Deviations:
        """Some of the draws, by a slice, a mask or indices."""
        rows: dict[str, Any] = {name: _rows(getattr(self, name), chosen) for name in _ARRAYS}
        return Deviations(**rows, air=None if self.air is None else self.air[chosen])


_SHAPES = {
    "thrust": "P", "isp": "P", "dry_mass": "P", "propellant": "P", "payload": "1", "drag": "1",
    "normal_force": "1", "ignition_delay": "S", "separation_delay": "P", "alignment": "3",
}  # fmt: skip
_ARRAYS = tuple(_SHAPES)
_FACTORS = ("thrust", "isp", "drag", "normal_force")


def _keep(owner: object, name: str, given: object) -> None:
    """A copy of its own that nobody changes."""
    array = np.array(given, dtype=np.float64)
    if not np.all(np.isfinite(array)):
        raise InputError(
            f"{type(owner).__name__}: {name} holds what is no finite number. Give numbers."
        )
    array.flags.writeable = False
    object.__setattr__(owner, name, array)


def _check_shape(owner: object, name: str, shape: tuple[int, ...], fix: str) -> None:
    got = getattr(owner, name).shape
    if got != shape:
        raise InputError(
            f"{type(owner).__name__}: {name} has the shape {got}; it must be {shape}. {fix}"
        )


def _rows(array: Floats, chosen: Any) -> Floats:
    return np.atleast_1d(array[chosen]) if array.ndim == 1 else np.atleast_2d(array[chosen])
