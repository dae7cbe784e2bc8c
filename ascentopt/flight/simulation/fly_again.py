"""Fly what was kept once more, and hold its numbers against the flight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, fields, replace
from math import atan2

import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.failure import FlightError
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import Mission
from ascentopt.mission.lift_off import hangs_on_its_instant
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats

METRES, SPEED = 1.0, 1e-3
"""m and m/s by which two flights of one table may differ, on two processors, say: a tenth of what a
certificate allows an insertion to miss."""

INSTANT = 1e-3
"""s, in which a vehicle goes some metres; arcs end by the clock, or where a height is met."""

PART = 1e-3
"""Of a peak: what may lie between samples, as for limits."""

CLOSED = 10.0
"""Times what two flights may differ by: masses are a plan's, or a compiled flight's, which this one
misses by as much as a certificate allows."""

_MOST_G = 100.0
"""m/s^2 that an instant counts for: ten times a weight, more than a vehicle bears."""

_PEAKS = ("dynamic_pressure", "q_alpha", "axial_acceleration", "heating", "air_speed")


@dataclass(frozen=True, kw_only=True)
class Kept:
    """What of a flight was kept."""

    trajectory: Trajectory
    events: EventTable
    budget: DeltaVBudget


@dataclass(frozen=True, kw_only=True)
class SecondFlight:
    """A law flown again, and what it burned.

    Args:
        flight: None where it does not come to its end.
        why: it does not.
        propellant_used, propellant_margin: kg, as those of an ascent.
        mass_tolerance: kg that `SPEED` is worth.
    """

    flight: Flight | None
    why: str = ""
    propellant_used: float = np.nan
    propellant_margin: float = np.nan
    mass_tolerance: float = np.nan

    def checks(self, kept: Kept) -> Iterator[Check]:
        """Numbers of the kept flight beside those of this one; none where there is no flight."""
        if self.flight is None:
            return
        found = self.flight
        yield from _along(kept.trajectory, found.trajectory, self.mass_tolerance)
        for name in _PEAKS:
            peaks = [_peak(getattr(one, name)) for one in (kept.trajectory, found.trajectory)]
            yield Check(quantity=f"peak of {name.replace('_', ' ')}", kept=peaks[0],
                        found=peaks[1], tolerance=PART * peaks[1])  # fmt: skip
        yield from _events(kept.events, found.events, self.mass_tolerance)
        for one in fields(DeltaVBudget):
            values = getattr(kept.budget, one.name), getattr(found.budget, one.name)
            yield Check(quantity=f"budget, {one.name.replace('_', ' ')}", kept=values[0],
                        found=values[1], tolerance=10.0 * SPEED, unit="m/s")  # fmt: skip


def verified_flight(
    subject: str, flight: Flight, again: SecondFlight, used: float, penalty: Check
) -> Verification:
    """A flight of a law that was kept, held against a second one, with what it burned.

    Args:
        subject: what it is.
        flight, again: the first and the second.
        used: kg that were kept as burned.
        penalty: kept and found by whoever knows the optimum.
    """
    kept = Kept(trajectory=flight.trajectory, events=flight.events, budget=flight.budget)
    burned = Check(quantity="propellant used", kept=used, found=again.propellant_used,
                   tolerance=CLOSED * again.mass_tolerance, unit="kg")  # fmt: skip
    if again.flight is None:
        return Verification(subject=subject, checks=(penalty,),
                            objections=(f"it does not fly: {again.why}",))  # fmt: skip
    return Verification(subject=subject, checks=(*again.checks(kept), burned, penalty))


def second_flight(vehicle: Vehicle, mission: Mission, law: SteeringLaw) -> SecondFlight:
    """Fly a law again. Raises `InputError` where it does not fit vehicle and mission."""
    sequence = sequence_of(vehicle, mission, law.plan)
    try:
        flight = fly(vehicle, mission, law)
    except FlightError as failure:
        return SecondFlight(flight=None, why=str(failure))
    cut_off = float(flight.trajectory.arcs[sequence.cut_off].states[-1, MASS])
    untouched, left = sequence.untouched, sequence.propellant_left(cut_off)
    margin = untouched if sequence.ballasted else left
    stage = vehicle.stages[law.plan.inserting_stage]
    exhaust = stage.engine.exhaust_speed
    return SecondFlight(
        flight=flight,
        propellant_used=vehicle.propellant_mass - margin - sequence.reserve,
        propellant_margin=margin,
        mass_tolerance=float(flight.final_state[MASS]) * SPEED / exhaust,
    )


def as_flown(mission: Mission, trajectory: Trajectory) -> Mission:
    """The mission at the instant at which a flight lifted off: its site stands where it began."""
    if not hangs_on_its_instant(mission):
        return mission
    x, y = trajectory.arcs[0].states[0, :2]
    turned = atan2(y, x) - mission.site.longitude
    return replace(mission, lift_off_time=turned / mission.body.rotation_rate)


def _along(kept: Trajectory, found: Trajectory, kilograms: float) -> Iterator[Check]:
    """Arc by arc: its end, and where both have the same samples all of them."""
    pairs = list(zip(kept.arcs, found.arcs, strict=False))
    counts = float(len(kept.arcs)), float(len(found.arcs))
    yield Check(quantity="number of arcs", kept=counts[0], found=counts[1], tolerance=0.0)
    for one, other in pairs:
        yield Check(quantity=f"end of {one.name!r}", kept=float(one.times[-1]),
                    found=float(other.times[-1]), tolerance=INSTANT, unit="s")  # fmt: skip
        apart = _apart(one, other)
        for what, off, most, unit in (
            ("place", apart[:, :3], METRES, "m"),
            ("velocity", apart[:, 3:MASS], SPEED, "m/s"),
            ("mass", apart[:, MASS:], kilograms, "kg"),
        ):
            yield Check(quantity=f"{what} in {one.name!r}, off the flight's by", found=0.0,
                        kept=float(np.linalg.norm(off, axis=1).max()),
                        tolerance=most, unit=unit)  # fmt: skip
        by = _readings_apart(one, other)
        yield Check(quantity=f"readings of {one.name!r}, off the flight's by", kept=by,
                    found=0.0, tolerance=PART, unit="of the peak")  # fmt: skip


def _same_samples(one: TrajectoryArc, other: TrajectoryArc) -> bool:
    return len(one.times) == len(other.times) and bool(
        np.allclose(one.times, other.times, rtol=0.0, atol=INSTANT)
    )


def _apart(one: TrajectoryArc, other: TrajectoryArc) -> Floats:
    """(k, 7) difference of the states, both told at the same instants; else at the end alone."""
    if not _same_samples(one, other):
        return one.states[-1:] - other.states[-1:]
    late = (one.times - other.times)[:, None]
    apart = one.states - other.states
    apart[:, :3] -= late * other.states[:, 3:6]
    return np.asarray(apart)


def _readings_apart(one: TrajectoryArc, other: TrajectoryArc) -> float:
    """Largest difference of any reading, as a part of the largest of its kind on the arc."""
    if not _same_samples(one, other):
        return 0.0
    if not np.array_equal(np.isnan(one.readings), np.isnan(other.readings)):
        return np.inf
    size = np.nan_to_num(np.abs(other.readings)).max(axis=0) + 1e-9
    apart = np.nan_to_num(np.abs(one.readings - other.readings)) / size
    return float(np.minimum(apart, np.abs(apart - 2.0 * np.pi / size)).max())


def _events(kept: EventTable, found: EventTable, kilograms: float) -> Iterator[Check]:
    names = [row.name for row in kept], [row.name for row in found]
    alike = float(names[0] != names[1])
    yield Check(quantity="names of events that differ", kept=alike, found=0.0, tolerance=0.0)
    if alike:
        return
    peak = max(row.dynamic_pressure for row in found)
    for one, other in zip(kept, found, strict=True):
        numbers = [("dynamic_pressure", PART * peak, "Pa")]
        if one.name != "max dynamic pressure":  # at a flat top the instant is not well known
            numbers += [
                ("time", INSTANT, "s"),
                ("altitude", METRES + INSTANT * other.speed, "m"),
                ("speed", SPEED + INSTANT * _MOST_G, "m/s"),
                ("mass_before", kilograms, "kg"),
                ("mass_after", kilograms, "kg"),
            ]
        for name, most, unit in numbers:
            yield Check(quantity=f"{one.name}, {name.replace('_', ' ')}", kept=getattr(one, name),
                        found=getattr(other, name), tolerance=most, unit=unit)  # fmt: skip


def _peak(values: Floats) -> float:
    return float(np.nan_to_num(values).max())
