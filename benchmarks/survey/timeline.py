"""The burns of a vehicle, as pieces of time in which the same engines burn."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import exp, log

from ascentopt.rocket import Engine, Vehicle
from ascentopt.rocket.engine import Propulsion
from ascentopt.units import STANDARD_GRAVITY

# Burn-outs of two clocks that differ by less are one.
_SLIVER = 1e-6  # s


@dataclass(frozen=True, kw_only=True)
class Held:
    """An engine throttled so that it pushes a vehicle of `mass` kg, to begin with, by `push` m/s^2.

    Times are since then.
    """

    engine: Propulsion
    push: float
    mass: float

    def vacuum_thrust_at(self, time: float) -> float:
        """In N; as much less as the vehicle is lighter."""
        return self.push * self.mass * exp(-self.push * time / _exhaust(self.engine))

    def mass_flow_at(self, time: float) -> float:
        """In kg/s."""
        return self.vacuum_thrust_at(time) / _exhaust(self.engine)

    @property
    def effective_exit_area(self) -> float:
        """Of the nozzle, which is as wide as ever, m^2."""
        return self.engine.effective_exit_area


@dataclass(frozen=True, kw_only=True)
class Lit:
    """Engines that burn: how many, and how long before the piece they were lit."""

    count: int
    engine: Propulsion | Held
    lit_before: float


@dataclass(frozen=True, kw_only=True)
class Piece:
    """A stretch of `duration` s with engines `lit`, after which `dropped` kg fall away.

    `stage` is the index of the stage that carries the vehicle through it.
    """

    duration: float
    lit: tuple[Lit, ...]
    dropped: float
    stage: int

    def thrust(self, time: float) -> float:
        """Vacuum thrust in N at `time` s into the piece."""
        return float(
            sum(x.count * x.engine.vacuum_thrust_at(x.lit_before + time) for x in self.lit)
        )

    def flow(self, time: float) -> float:
        """Propellant flow in kg/s at `time` s into the piece."""
        return float(sum(x.count * x.engine.mass_flow_at(x.lit_before + time) for x in self.lit))

    @property
    def exit_area(self) -> float:
        """Of all nozzles that burn, m^2."""
        return float(sum(x.count * x.engine.effective_exit_area for x in self.lit))


def may_hold(vehicle: Vehicle, most: float) -> bool:
    """Whether every stage can throttle so far that it pushes by no more than `most` m/s^2."""
    lightest = (
        vehicle.mass_above(k) - vehicle.fairing_mass + stage.dry_mass
        for k, stage in enumerate(vehicle.stages)
    )
    return not vehicle.boosters and all(
        isinstance(stage.engine, Engine)
        and stage.engine.min_throttle * stage.engine.vacuum_thrust <= most * mass
        for stage, mass in zip(vehicle.stages, lightest, strict=True)
    )


def pieces(vehicle: Vehicle, most: float | None = None) -> tuple[Piece, ...]:
    """All burns and ignition delays to the last kilogram of propellant, in order.

    At full throttle, or as much as pushes the vehicle, its fairing left aside, by `most` m/s^2.
    """
    plain = _at_full_throttle(vehicle)
    return plain if most is None else tuple(_held(plain, vehicle, most))


def _held(plain: tuple[Piece, ...], vehicle: Vehicle, most: float) -> Iterator[Piece]:
    """Pieces with a single engine of constant thrust, cut where it is to be throttled."""
    mass = vehicle.lift_off_mass - vehicle.fairing_mass
    for piece in plain:
        flow, end = piece.flow(0.0), mass - piece.flow(0.0) * piece.duration
        heavy = piece.thrust(0.0) / most  # so light, and the limit is reached
        if end >= heavy:
            yield piece
        else:
            if mass > heavy:
                yield replace(piece, duration=(mass - heavy) / flow, dropped=0.0)
            engine, begin = vehicle.stages[piece.stage].engine, min(mass, heavy)
            held = Held(engine=engine, push=most, mass=begin)
            lit = Lit(count=1, engine=held, lit_before=0.0)
            duration = _exhaust(engine) / most * log(begin / end)
            yield replace(piece, duration=duration, lit=(lit,))
        mass = end - piece.dropped


def _exhaust(engine: Propulsion) -> float:
    return engine.vacuum_isp * STANDARD_GRAVITY


def _at_full_throttle(vehicle: Vehicle) -> tuple[Piece, ...]:
    found = _beside_the_core(vehicle)
    for index, stage in enumerate(vehicle.stages[1:], start=1):
        if stage.ignition_delay:
            found.append(Piece(duration=stage.ignition_delay, lit=(), dropped=0.0, stage=index))
        last = index == len(vehicle.stages) - 1
        lit = Lit(count=1, engine=stage.engine, lit_before=0.0)
        dropped = 0.0 if last else stage.dry_mass
        piece = Piece(duration=stage.burn_time, lit=(lit,), dropped=dropped, stage=index)
        found.append(piece)
    return tuple(found)


def _beside_the_core(vehicle: Vehicle) -> list[Piece]:
    core = vehicle.stages[0]
    start = core.ignition_delay
    clocks = [(1, core.engine, start, start + core.burn_time, 0.0)]
    clocks += [
        (g.count, g.engine, g.ignition_time, g.burn_out_time, g.count * g.dry_mass)
        for g in vehicle.boosters
    ]
    instants = _distinct([0.0, *(c[2] for c in clocks), *(c[3] for c in clocks)])
    found = []
    for begin, end in pairwise(instants):
        middle = 0.5 * (begin + end)
        lit = tuple(
            Lit(count=count, engine=engine, lit_before=max(begin - lit_at, 0.0))
            for count, engine, lit_at, out_at, _ in clocks
            if lit_at < middle < out_at
        )
        dropped = sum(dry for *_, out_at, dry in clocks if abs(out_at - end) <= _SLIVER)
        if end == instants[-1] and len(vehicle.stages) > 1:
            dropped += core.dry_mass
        found.append(Piece(duration=end - begin, lit=lit, dropped=dropped, stage=0))
    return found


def _distinct(instants: list[float]) -> list[float]:
    ordered = sorted(instants)
    return [ordered[0], *(b for a, b in pairwise(ordered) if b - a > _SLIVER)]
