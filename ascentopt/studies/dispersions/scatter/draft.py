"""Deviations of draws while what scatters is put into them, one thing after another."""

from __future__ import annotations

from dataclasses import dataclass, fields
from typing import Any

import numpy as np

from ascentopt.errors import InputError
from ascentopt.guided.deviations import AirDeviations, Deviations
from ascentopt.rocket import BoosterGroup, Stage, Vehicle
from ascentopt.telling import meant
from ascentopt.typing import Floats


def parts_of(vehicle: Vehicle) -> tuple[Stage | BoosterGroup, ...]:
    """The stages from below, then the groups of boosters, as `Deviations` has them."""
    return *vehicle.stages, *vehicle.boosters


def part_named(vehicle: Vehicle, name: str, owner: str) -> Stage | BoosterGroup:
    """The stage or group of boosters of this name. Raises `InputError` where there is none."""
    parts = {part.name: part for part in parts_of(vehicle)}
    if name not in parts:
        fix = meant(name, list(parts), "Name one of them.")
        raise InputError(
            f"{owner}: part is {name!r}; it must be one of the vehicle's, "
            f"{', '.join(map(repr, parts))}. {fix}"
        )
    return parts[name]


@dataclass(frozen=True, eq=False)
class _Air:
    """A part of the air's deviations, on altitudes of its own: (k,) and (n, k)."""

    altitude: Floats
    values: dict[str, Floats]


class DeviationsDraft:
    """Arrays as of `Deviations`, all nominal at first.

    Args:
        vehicle: that flies.
        count: how many draws.

    Attributes:
        arrays: by the names of the fields; (count, parts), (count, stages), (count, 3) or (count,).
    """

    def __init__(self, vehicle: Vehicle, count: int) -> None:
        nominal = Deviations.none(
            count, stages=len(vehicle.stages), groups=len(vehicle.boosters)
        )
        self.vehicle, self.count = vehicle, count
        self.arrays: dict[str, Floats] = {
            one.name: getattr(nominal, one.name).copy()
            for one in fields(nominal)
            if one.name != "air"
        }
        self._air: list[_Air] = []

    def column(self, field: str, part: str) -> Floats:
        """(count,) of a field of a part, to be changed in place."""
        names = [one.name for one in parts_of(self.vehicle)]
        return np.asarray(self.arrays[field][:, names.index(part)])

    def scale_density(self, altitude: Floats, factors: Floats) -> None:
        """Multiply the density by factors (count, k) at altitudes (k,) in m."""
        self._air.append(_Air(altitude, {"density": factors}))

    def add_wind(self, altitude: Floats, eastward: Floats, northward: Floats) -> None:
        """Add winds (count, k) in m/s to the mission's own at altitudes (k,) in m."""
        self._air.append(_Air(altitude, {"east": eastward, "north": northward}))

    def deviations(self) -> Deviations:
        """As they are to be flown."""
        given: dict[str, Any] = dict(self.arrays)
        return Deviations(**given, air=self._whole_air() if self._air else None)

    def _whole_air(self) -> AirDeviations:
        altitude = np.unique(np.concatenate([one.altitude for one in self._air]))
        shape = self.count, len(altitude)
        sums = {"density": np.ones(shape), "east": np.zeros(shape), "north": np.zeros(shape)}
        for one in self._air:
            for name, values in one.values.items():
                here = on_altitudes(altitude, one.altitude, values)
                sums[name] = sums[name] * here if name == "density" else sums[name] + here
        return AirDeviations(altitude=altitude, **sums)


def on_altitudes(altitude: Floats, knots: Floats, values: Floats) -> Floats:
    """(n, len(altitude)) of rows (n, k) that are linear between knots (k,), constant beyond."""
    if len(knots) == 1:
        return np.repeat(values, len(altitude), axis=1)
    below = np.clip(np.searchsorted(knots, altitude, side="right") - 1, 0, len(knots) - 2)
    share = np.clip((altitude - knots[below]) / (knots[below + 1] - knots[below]), 0.0, 1.0)
    return np.asarray((1.0 - share) * values[:, below] + share * values[:, below + 1])
