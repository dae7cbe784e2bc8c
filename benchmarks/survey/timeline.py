"""The burns of a vehicle at full throttle, as pieces of time in which the same engines burn."""

from __future__ import annotations

from dataclasses import dataclass
from itertools import pairwise

from ascentopt.rocket import Vehicle
from ascentopt.rocket.engine import Propulsion

# Burn-outs of two clocks that differ by less are one.
_SLIVER = 1e-6  # s


@dataclass(frozen=True, kw_only=True)
class Lit:
    """Engines that burn: how many, and how long before the piece they were lit."""

    count: int
    engine: Propulsion
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


def pieces(vehicle: Vehicle) -> tuple[Piece, ...]:
    """All burns and ignition delays to the last kilogram of propellant, in order."""
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
