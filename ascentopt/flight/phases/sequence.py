"""The arcs of a flight, in order, and the joints between them."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import exp

import numpy as np

from ascentopt.flight.phases.arc_kind import ArcKind, ArcParameters, Guidance


@dataclass(frozen=True, kw_only=True)
class TimeSpan:
    """The time in s between the instants at which two arcs begin, between two bounds."""

    first: int
    last: int
    shortest: float
    longest: float


@dataclass(frozen=True, kw_only=True)
class Joint:
    """What happens at the end of an arc. Position and velocity are always continuous.

    Args:
        event: what the event table calls it.
        mass_drop: kg that leave; the mass before minus this is the mass after.
        mass_after: kg left when all else is dropped, whatever was still aboard: a stage takes its
            unburned propellant with it. Exactly one of the two is given.
        staging: whether a limit on dynamic pressure at staging applies.
        fairing: whether the fairing goes, and with it a limit on heating.
        also: what else the event table calls the same instant.
    """

    event: str
    mass_drop: float | None = None
    mass_after: float | None = None
    staging: bool = False
    fairing: bool = False
    also: str | None = None

    def __str__(self) -> str:
        if self.mass_after is not None:
            return f"{self.event} (mass becomes {self.mass_after:.1f} kg)"
        drop = f" (-{self.mass_drop:.1f} kg)" if self.mass_drop else ""
        return self.event + drop

    def mass(self, before: float) -> float:
        """Mass after the joint in kg."""
        return self.mass_after if self.mass_after is not None else before - (self.mass_drop or 0.0)


@dataclass(frozen=True, kw_only=True)
class FlightArc:
    """A stretch of flight during which nothing is lit, shut down or dropped.

    Args:
        name: unique in the sequence.
        kind: form of the equations.
        numbers: its parameters, in the order of `ArcKind.numbers`; by name as `parameters`.
        stage: index of the stage whose engines burn, or will burn next.
        duration: shortest and longest, s.
        least_mass: kg aboard when everything that may burn during the arc is burned; it keeps the
            reserve.
        min_throttle: least throttle of the core.
        throttles: whether the plan lets the core throttle, whatever the limits ask.
        joint: what happens at the end.
        rise: m of height after which the arc ends, for a vertical rise; None otherwise.
    """

    name: str
    kind: ArcKind
    numbers: tuple[float, ...]
    stage: int
    duration: tuple[float, float]
    least_mass: float
    min_throttle: float = 1.0
    throttles: bool = False
    joint: Joint
    rise: float | None = None

    @cached_property
    def parameters(self) -> ArcParameters[float]:
        """The numbers by name."""
        return ArcParameters.of(self.kind, self.numbers)

    def with_core_ignition(self, kind: ArcKind, lit: float) -> FlightArc:
        """The arc with another clock of its solid core, and what is subtracted there."""
        return replace(self, kind=kind, numbers=replace(self.parameters, core_ignition=lit).numbers)

    @property
    def burning(self) -> bool:
        """Whether an engine is lit."""
        return self.kind.guidance is not Guidance.COAST

    def seconds_to_gain(self, mass: float, speed: float) -> float:
        """Of a burn that gives so many m/s from a mass in kg on, by the rocket equation."""
        thrust, flow = self.parameters.thrust, self.parameters.mass_flow
        return mass * (1.0 - exp(-speed * flow / thrust)) / flow

    @property
    def fixed(self) -> bool:
        """Whether the duration is known beforehand."""
        return self.duration[0] == self.duration[1]

    @property
    def free_coast(self) -> bool:
        """Whether it is a coast that may be as long as pays."""
        return not (self.burning or self.fixed)


@dataclass(frozen=True, kw_only=True)
class Sequence:
    """A flight from lift-off to insertion, before anyone decides how to steer.

    Args:
        arcs: in order.
        spans: times across several arcs, such as a burn that the fairing's drop cuts in two.
        position, velocity: (3,) inertial at lift-off, m and m/s.
        mass: at lift-off, kg.
        reserve: kg of propellant that the last arc's least mass keeps.
        untouched: kg of propellant in stages that are carried along and never lit.
        cut_off: index of the last arc whose end is free: the last burn, or one further down under
            solid motors. The mass there tells what is left.
        ballasted: whether no burn has a free end, and ballast may be put aboard at lift-off instead
            so that they end in the orbit. The mass in the orbit tells how much.
        southward: whether it heads for its inclination by the south of east or west.
    """

    arcs: tuple[FlightArc, ...]
    spans: tuple[TimeSpan, ...]
    position: tuple[float, float, float]
    velocity: tuple[float, float, float]
    mass: float
    reserve: float = 0.0
    untouched: float = 0.0
    cut_off: int = -1
    ballasted: bool = False
    southward: bool = False

    def __str__(self) -> str:
        lines = [f"{'arc':30}{'guidance':>10}{'shortest':>11}{'longest':>11}  ends with"]
        lines += [
            f"{arc.name:30}{arc.kind.guidance.name.lower():>10}"
            f"{arc.duration[0]:11.3f}{arc.duration[1]:11.3f}  {arc.joint}"
            for arc in self.arcs
        ]
        return "\n".join(lines)

    @property
    def names(self) -> tuple[str, ...]:
        """Names of the arcs."""
        return tuple(arc.name for arc in self.arcs)

    @property
    def index_of_drop(self) -> int | None:
        """Index of the arc at whose end the fairing goes; None where it stays."""
        return next((k for k, arc in enumerate(self.arcs) if arc.joint.fairing), None)

    def propellant_in_tank(self, cut_off_mass: float) -> float:
        """Propellant in kg, beyond the reserve, of the stage that is cut off; negative: missing."""
        return cut_off_mass - self.arcs[self.cut_off].least_mass

    def propellant_left(self, cut_off_mass: float) -> float:
        """Propellant beyond the reserve at the end, kg, that of unlit stages included."""
        return self.propellant_in_tank(cut_off_mass) + self.untouched

    def ballast(self, lift_off_mass: float) -> float:
        """What a flight with this mass at lift-off carries beside the payload, kg."""
        return max(lift_off_mass - self.mass, 0.0) if self.ballasted else 0.0

    def may_drop_in(self, index: int) -> bool:
        """Whether the fairing may go during an arc.

        A solid motor that was lit at a free instant is cut in two only by the mass with which it
        was lit, which is not known while ballast is looked for.
        """
        lit = self.arcs[index].kind.core_curve is not None and self.arcs[index].stage > 0
        waited = any(arc.free_coast for arc in self.arcs[:index])
        return not (self.ballasted and lit and waited)

    @property
    def exposed(self) -> tuple[str, ...]:
        """Names of the arcs that the payload flies without its fairing, through air."""
        drops = [k for k, arc in enumerate(self.arcs) if arc.joint.fairing]
        return self.names[drops[0] + 1 :] if drops and self._in_air else ()

    @property
    def _in_air(self) -> bool:
        return self.arcs[0].kind.body.atmosphere is not None

    def initial_state(self) -> np.ndarray:
        """(7,) position, velocity and mass at lift-off."""
        return np.array([*self.position, *self.velocity, self.mass])
