"""The burns of a vehicle at full throttle in vacuum and what they add up to."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import log
from typing import Protocol

from ascentopt.rocket.stage import BoosterGroup, Stage

# Burn-outs that should coincide may miss each other by rounding; such a burn is not worth a row.
_SLIVER = 1e-6  # s


@dataclass(frozen=True, kw_only=True)
class Burn:
    """A stretch during which the same engines burn.

    `initial_mass` and `final_mass` kg (before anything is dropped), vacuum `thrust` N, `duration`
    s, and the speed `delta_v` m/s that it gives without gravity and drag.
    """

    name: str
    initial_mass: float
    final_mass: float
    thrust: float
    duration: float

    @property
    def delta_v(self) -> float:
        """Rocket equation with the joint exhaust velocity of all that burns, m/s."""
        flow = (self.initial_mass - self.final_mass) / self.duration
        return self.thrust / flow * log(self.initial_mass / self.final_mass)


class Stack(Protocol):
    """What burns follow from: a vehicle, which asks for its own burns and so stands above them."""

    @property
    def stages(self) -> Sequence[Stage]:
        """From the ground up."""

    @property
    def boosters(self) -> Sequence[BoosterGroup]:
        """Beside the first stage."""

    @property
    def lift_off_mass(self) -> float:
        """In kg, everything aboard."""

    @property
    def fairing_mass(self) -> float:
        """In kg, zero without one."""

    def mass_above(self, stage_index: int) -> float:
        """In kg, carried by a stage, the fairing counted always."""


def burns(vehicle: Stack) -> tuple[Burn, ...]:
    """Return the burns in order, at full throttle and in vacuum.

    Boosters burn on their own clocks beside the first stage; solid motors count with their mean
    thrust; the fairing is carried to the end of the first stage.
    """
    found = list(_first_stage(vehicle))
    for index, stage in enumerate(vehicle.stages[1:], start=1):
        final = vehicle.mass_above(index) - vehicle.fairing_mass + stage.dry_mass
        found.append(
            Burn(
                name=stage.name,
                initial_mass=final + stage.propellant_mass,
                final_mass=final,
                thrust=stage.engine.mean_thrust,
                duration=stage.burn_time,
            )
        )
    return tuple(found)


def _first_stage(vehicle: Stack) -> Iterator[Burn]:
    """The burns until the first stage is empty, cut at each ignition and burn-out beside it."""
    core, mass = vehicle.stages[0], vehicle.lift_off_mass
    parts = [(core.name, 1, core.engine, core.ignition_delay, core.burn_time, 0.0)]
    parts += [
        (g.name, g.count, g.engine, g.ignition_time, g.burn_time, g.count * g.dry_mass)
        for g in vehicle.boosters
    ]
    instants = sorted({0.0} | {t for p in parts for t in (p[3], p[3] + p[4])})
    for start, end in pairwise(instants):
        middle = 0.5 * (start + end)
        alight = [p for p in parts if p[3] < middle < p[3] + p[4]]
        flow = sum(p[1] * p[2].mass_flow for p in alight)
        final = mass - flow * (end - start)
        if alight and end - start > _SLIVER:
            yield Burn(
                name=" + ".join(p[0] for p in reversed(alight)),
                initial_mass=mass,
                final_mass=final,
                thrust=sum(p[1] * p[2].mean_thrust for p in alight),
                duration=end - start,
            )
        mass = final - sum(p[5] for p in parts if p[3] + p[4] == end)
