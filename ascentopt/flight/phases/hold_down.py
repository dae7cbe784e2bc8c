"""A vehicle whose thrust builds up stands on the pad, held, until it exceeds the weight.

The clock of a flight begins at lift-off. What is lit on the pad (a motor whose curve begins at or
near zero thrust, and the engines beside it) burns before that: its curve is flown from the instant
of release on, and what it has burned by then is gone. Parts that are lit later keep their times.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TypeVar

import numpy as np

from ascentopt.flight.phases.vertical_rise import pad_gravity, pad_pressure
from ascentopt.mission import Mission
from ascentopt.numerics.root_bracket import Point, passes_zero
from ascentopt.numerics.trapezoid import trapezoid
from ascentopt.rocket import BoosterGroup, SolidMotor, Stage, Vehicle
from ascentopt.typing import Floats

RELEASE = 1.01
"""Thrust over weight at which a vehicle that was held is let go: at one exactly, rounding would
decide whether it sinks at first. One that has more than its weight at ignition is not held."""

_PLACES = 200
"""Instants, beside the points of the curves, at which thrust and weight are compared."""

_CLOSE = 1e-12
"""s: what burns in it is a part in 1e14 of a vehicle."""

_PIECES = 64
"""Of the time on the pad: what burns in it is known to a thousandth, the weight to much less."""

Part = TypeVar("Part", Stage, BoosterGroup)


def held_down(vehicle: Vehicle, mission: Mission) -> Vehicle:
    """The vehicle as it leaves the pad; itself where it does so at once, or never."""
    return held_for(vehicle, seconds_held(vehicle, mission) or 0.0)


def held_for(vehicle: Vehicle, release: float) -> Vehicle:
    """The vehicle as it leaves the pad so many seconds after ignition; itself where at once."""
    if not release:
        return vehicle
    first, *others = vehicle.stages
    lit = first if first.ignition_delay else _burned_for(first, release)
    groups = (g if g.ignition_time else _burned_for(g, release) for g in vehicle.boosters)
    return replace(vehicle, stages=(lit, *others), boosters=tuple(groups))


def seconds_held(vehicle: Vehicle, mission: Mission) -> float | None:
    """Seconds from ignition on the pad to release; None where the thrust never suffices."""
    if not any(isinstance(part.engine, SolidMotor) for part, _ in _lit_on_the_pad(vehicle)):
        return 0.0
    if _spare(vehicle, mission, np.zeros(1), 1.0)[0] > 0.0:
        return 0.0
    times = _instants(vehicle)
    spare = _spare(vehicle, mission, times)
    enough = np.flatnonzero(spare > 0.0)
    if not len(enough):
        return None
    k = int(enough[0])
    before, after = (Point(float(times[j]), float(spare[j])) for j in (k - 1, k))
    return passes_zero(
        lambda time: float(_spare(vehicle, mission, np.array([time]))[0]), before, after, _CLOSE
    )


def greatest_pad_thrust(vehicle: Vehicle, mission: Mission) -> float:
    """The greatest thrust in N, in the air of the site, of all that is lit on the pad."""
    return float(_thrust(vehicle, mission, _instants(vehicle)).max())


def _lit_on_the_pad(vehicle: Vehicle) -> Iterator[tuple[Stage | BoosterGroup, int]]:
    """Parts that are lit there, and how many of each."""
    first = vehicle.stages[0]
    if first.ignition_delay == 0.0:
        yield first, 1
    yield from ((group, group.count) for group in vehicle.boosters if not group.ignition_time)


def _instants(vehicle: Vehicle) -> Floats:
    """From ignition until the first of them burns out, s."""
    parts = [part for part, _ in _lit_on_the_pad(vehicle)]
    last = min((part.burn_time for part in parts), default=0.0)
    knots = [part.engine.time for part in parts if isinstance(part.engine, SolidMotor)]
    times = np.unique(np.concatenate([np.linspace(0.0, last, _PLACES), *knots]))
    return times[times <= last]


def _spare(vehicle: Vehicle, mission: Mission, times: Floats, release: float = RELEASE) -> Floats:
    """Thrust beyond what releases the vehicle, N, as it burns on the pad."""
    burned = np.zeros_like(times)
    for part, count in _lit_on_the_pad(vehicle):
        burned += count * np.array([_burned(part, time) for time in times])
    weight = (vehicle.lift_off_mass - burned) * pad_gravity(mission)
    return _thrust(vehicle, mission, times) - release * weight


def _thrust(vehicle: Vehicle, mission: Mission, times: Floats) -> Floats:
    pressure, found = pad_pressure(mission), np.zeros_like(times)
    for part, count in _lit_on_the_pad(vehicle):
        loss = pressure * part.engine.effective_exit_area
        found += count * (np.asarray(part.engine.vacuum_thrust_at(times)) - loss)
    return found


def _burned(part: Stage | BoosterGroup, time: float) -> float:
    """Kg that a part has burned so many seconds after its ignition."""
    if isinstance(part.engine, SolidMotor):
        flows = part.engine.mass_flow_at(np.linspace(0.0, time, _PIECES + 1))
        return trapezoid(flows, time / _PIECES)
    return part.engine.mass_flow * float(time)


def _burned_for(part: Part, seconds: float) -> Part:
    """The same part so many seconds after its ignition."""
    left = part.propellant_mass - _burned(part, seconds)
    if isinstance(part.engine, SolidMotor):
        motor = part.engine.after(seconds).scaled_to(left)
        return replace(part, engine=motor, propellant_mass=left)
    return replace(part, propellant_mass=left)
