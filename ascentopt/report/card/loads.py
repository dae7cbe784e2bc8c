"""Limits and peaks: what the flight does to the vehicle, beside what it may."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from math import inf, isfinite

import numpy as np

from ascentopt.flight.results.telemetry import Column, Readings
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.optimal.problem.violations import DENSE
from ascentopt.report.flown import Flown
from ascentopt.units import STANDARD_GRAVITY, deg, kPa

_KEPT = 1.006
"""Share of a limit up to which it counts as kept: an optimum keeps its limits to half a per cent
between the nodes of its mesh."""


@dataclass(frozen=True, kw_only=True)
class Load:
    """The peak of a load and its limit in `unit`, each of them `size` SI units.

    `time` s and `altitude` m say where the peak is; `limit` is None where there is none.
    """

    name: str
    peak: float
    unit: str
    size: float
    time: float
    altitude: float
    limit: float | None

    @property
    def shown(self) -> str:
        """The peak with its unit."""
        return f"{self.peak:.4g} {self.unit}" if isfinite(self.peak) else "a jump"

    @property
    def verdict(self) -> str:
        """How the peak stands to the limit."""
        if self.limit is None:
            return "no limit"
        if self.peak == inf:
            return "EXCEEDED"
        share = self.peak / self.limit
        return f"{100.0 * share:.0f} %" if share <= _KEPT else f"EXCEEDED, {100.0 * share:.0f} %"


def loads(flown: Flown) -> list[Load]:
    """Every load that the mission may limit, and the heating from the fairing's drop on."""
    limits = flown.mission.limits
    return [
        *_pressure(flown),
        *_column(flown, Trajectory.q_alpha, "q times angle of attack", (kPa * deg, "kPa deg"),
                 limits.q_alpha),
        *_attack(flown),
        *_column(flown, Trajectory.axial_acceleration, "axial acceleration",
                 (STANDARD_GRAVITY, "g"), limits.axial_acceleration),
        *_joints(flown),
        *_turn_rate(flown),
    ]  # fmt: skip


def _pressure(flown: Flown) -> Iterator[Load]:
    """Dynamic pressure, as the events have it; nothing without air."""
    peak = flown.trajectory.peak(Trajectory.dynamic_pressure)
    limit = flown.mission.limits.dynamic_pressure
    if peak.value > 0.0:
        yield _load("dynamic pressure", peak.value, (kPa, "kPa"), peak.readings, limit)


def _column(
    flown: Flown, column: Column, name: str, scale: tuple[float, str], limit: float | None
) -> Iterator[Load]:
    """The peak of a column; nothing where it is zero throughout, as loads by air without air.

    Of the samples, which are dense: a spline between them overshoots where the steering has a
    corner.
    """
    values = np.nan_to_num(column.__get__(flown.trajectory, Trajectory), nan=0.0)
    row = int(np.argmax(values))
    if values[row] > 0.0:
        point = Readings.of(flown.trajectory.table[row])
        yield _load(name, float(values[row]), scale, point, limit)


def _load(
    name: str, peak: float, scale: tuple[float, str], point: Readings, limit: float | None
) -> Load:
    size, unit = scale
    return Load(
        name=name,
        peak=peak / size,
        unit=unit,
        size=size,
        time=float(point.time),
        altitude=float(point.altitude),
        limit=None if limit is None else limit / size,
    )


def _attack(flown: Flown) -> Iterator[Load]:
    """The angle of attack where the air is dense enough for a limit on it to count."""
    track = flown.trajectory
    felt = (track.dynamic_pressure > DENSE) & np.isfinite(track.angle_of_attack)
    if np.any(felt):
        row = int(np.argmax(np.where(felt, track.angle_of_attack, -1.0)))
        value, point = float(track.angle_of_attack[row]), Readings.of(track.table[row])
        name = f"angle of attack, q above {DENSE:.0f} Pa"
        yield _load(name, value, (deg, "deg"), point, flown.mission.limits.angle_of_attack)


def _joints(flown: Flown) -> Iterator[Load]:
    """Dynamic pressure at the worst separation, and heating as the fairing goes."""
    limits, cool = flown.mission.limits, flown.vehicle.max_heating
    ends = [Readings.of(arc.readings[-1]) for arc in flown.trajectory.arcs]
    pairs = list(zip(flown.sequence.arcs, ends, strict=True))
    staged = [end for arc, end in pairs if arc.joint.staging]
    worst = max(staged, key=lambda end: float(end.dynamic_pressure), default=None)
    if worst is not None and flown.mission.body.atmosphere is not None:
        value = float(worst.dynamic_pressure)
        limit = limits.staging_dynamic_pressure
        yield _load("dynamic pressure at separation", value, (kPa, "kPa"), worst, limit)
    for end in (end for arc, end in pairs if arc.joint.fairing):
        yield _load("heating at the fairing's drop", float(end.heating), (1.0, "W/m2"), end, cool)
    yield from _bare(flown)


def _bare(flown: Flown) -> Iterator[Load]:
    """The greatest heating of the payload after the fairing's drop."""
    gone = [k for k, arc in enumerate(flown.sequence.arcs) if arc.joint.fairing]
    rest = flown.trajectory.arcs[gone[0] + 1 :] if gone else ()
    table = [arc.readings for arc in rest]
    if table:
        points = Readings.of(np.concatenate(table))
        row = int(np.nanargmax(points.heating))
        worst = Readings.of(points.table[row])
        name = "heating after the fairing's drop"
        yield _load(name, float(worst.heating), (1.0, "W/m2"), worst, flown.vehicle.max_heating)


def _turn_rate(flown: Flown) -> Iterator[Load]:
    """How fast the thrust turns in inertial space, where that is limited; infinite in a jump."""
    limit = flown.mission.limits.pitch_rate
    if limit is None:
        return
    best, place = 0.0, flown.trajectory.arcs[0].readings[0]
    for arc in flown.trajectory.arcs:
        rates = arc.turn_rates
        if len(rates) and rates.max() > best:
            best, place = float(rates.max()), arc.readings[int(np.argmax(rates))]
    yield _load("turn rate of the thrust", best, (deg, "deg/s"), Readings.of(place), limit)
