"""What holds at lift-off, where arcs meet, and at their ends: conditions of the program."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from itertools import pairwise
from math import inf, log, log1p

import numpy as np

from ascentopt.collocation import Bounds, Condition, Quantity
from ascentopt.flight.dynamics.elements import Elements
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.problem import linkage
from ascentopt.optimal.problem.path_limits import LOG_FROM
from ascentopt.optimal.problem.target.aim import cool_altitude
from ascentopt.rocket import Vehicle
from ascentopt.world import Body
from ascentopt.world.gravity import surface_circular_speed

LEAST_SPEED_AT_DROP = 0.1
"""Share of circular speed that a fairing has to bear at the altitude where it goes. Nearer to the
ground heating is below any limit as well, but only since the flight has hardly begun."""

DROP_ALTITUDE, DROP_HEATING = "altitude at fairing drop", "log heating at fairing drop"


@dataclass(frozen=True, kw_only=True)
class Joints:
    """The conditions of a sequence of arcs, but for where it ends.

    Args:
        vehicle, mission, sequence: the flight.
        mass_scales: kg at the start of each arc.
        coordinates: elements in which each arc is solved; None for position and velocity.
    """

    vehicle: Vehicle
    mission: Mission
    sequence: Sequence
    mass_scales: tuple[float, ...]
    coordinates: tuple[Elements | None, ...]

    def conditions(self) -> Iterator[Condition]:
        """Lift-off, then each joint, then what holds at the ends of arcs."""
        yield self._lift_off()
        for k, (before, after) in enumerate(pairwise(self.sequence.arcs)):
            yield from self._joint(k, before)
            yield from self._direction(k, before.kind, after.kind)
        if self.sequence.arcs[0].kind.direction_is_state:
            yield _zeros(("length of the first direction",), linkage.UnitStart(0), 1.0)
        for k, arc in enumerate(self.sequence.arcs):
            yield from self._end_limits(k, arc)

    def _motion(self) -> tuple[Quantity, ...]:
        length, speed = length_and_speed(self.mission.body)
        names = [(f"position {a}", "m", length) for a in "xyz"]
        names += [(f"velocity {a}", "m/s", speed) for a in "xyz"]
        return tuple(Quantity(*name) for name in names)

    def _lift_off(self) -> Condition:
        mass, state = Quantity("mass", "kg", self.sequence.mass), self.sequence.initial_state()
        most = inf if self.sequence.ballasted else state[MASS]
        return Condition(
            quantities=(*self._motion(), mass),
            expression=linkage.lift_off,
            bounds=Bounds(lower=tuple(state), upper=(*state[:MASS], most)),
        )

    def _joint(self, k: int, arc: FlightArc) -> Iterator[Condition]:
        expression, known = self._continuity(k)
        steps = tuple(replace(q, name=f"step of {q.name} at {arc.joint.event}") for q in known)
        yield Condition(
            quantities=steps, expression=expression, bounds=Bounds.fixed((0.0,) * len(steps))
        )
        scale = self.mass_scales[k + 1]
        quantity = Quantity(f"mass at {arc.joint.event}", "kg", scale)
        expression, value = self._mass_after(k, arc)
        yield Condition(
            quantities=(quantity,), expression=expression, bounds=Bounds.fixed((value,))
        )

    def _continuity(self, k: int) -> tuple[linkage.EndExpression, tuple[Quantity, ...]]:
        """What goes on through a joint: position and velocity, or elements between two such arcs.

        Elements are steady in themselves: the longitude goes on, whole turns with it.
        """
        elements = self.coordinates[k]
        if elements is None or self.coordinates[k + 1] is None:
            return linkage.Continuity(k), self._motion()
        sizes = elements.scales(np.array([quantity.scale for quantity in self._motion()]))
        pairs = zip(elements.names, sizes, strict=True)
        return linkage.SteadyElements(k), tuple(
            Quantity(*name, float(size)) for name, size in pairs
        )

    def _mass_after(self, k: int, arc: FlightArc) -> tuple[linkage.EndExpression, float]:
        """What the mass after a joint is known by, and its value in kg."""
        after = arc.joint.mass_after
        if after is None:
            return linkage.MassStep(k), -(arc.joint.mass_drop or 0.0)
        if self.sequence.ballasted:
            return linkage.MassLostBy(k), after - self.sequence.mass
        return linkage.MassAfter(k), after

    def _direction(self, k: int, before: ArcKind, after: ArcKind) -> Iterator[Condition]:
        """A direction that is a state starts upright, or goes on, or is free after a coast."""
        if not after.direction_is_state:
            return
        names = tuple(f"step of direction {axis}" for axis in "xyz")
        if before.guidance is Guidance.VERTICAL:
            yield _zeros(names, linkage.UprightStart(k + 1, self.mission.body))
        elif before.direction_is_state:
            yield _zeros(names, linkage.SteadyDirection(k))
        else:
            yield _zeros(("length of the direction",), linkage.UnitStart(k + 1), 1.0)

    def _end_limits(self, k: int, arc: FlightArc) -> Iterator[Condition]:
        if arc.rise is not None:
            height = self.mission.site.altitude + arc.rise
            quantity = Quantity("altitude at pitch-over", "m", arc.rise)
            yield _single(quantity, linkage.AltitudeAtEnd(k, self.mission.body), height, height)
        if self.mission.body.atmosphere is None:
            return
        staging = self.mission.limits.staging_dynamic_pressure
        if arc.joint.staging and staging is not None:
            unit = f"ln(1 + q / {LOG_FROM:.0f} Pa)"
            quantity = Quantity(f"log dynamic pressure at {arc.joint.event}", unit)
            most = log1p(staging / LOG_FROM)
            yield _single(quantity, linkage.DynamicPressureAtEnd(k, arc.kind), -inf, most)
        if arc.joint.fairing and self.vehicle.fairing is not None:
            quantity = Quantity(DROP_HEATING, "ln(W/m^2)")
            limit = log(self.vehicle.fairing.max_heating)
            yield _single(quantity, linkage.HeatingAtEnd(k, arc.kind), -inf, limit)
            altitude = Quantity(DROP_ALTITUDE, "m", 1e4)
            floor = cool_altitude(self.mission, self.vehicle.fairing, LEAST_SPEED_AT_DROP)
            yield _single(altitude, linkage.AltitudeAtEnd(k, self.mission.body), floor, inf)


def length_and_speed(body: Body) -> tuple[float, float]:
    """Sizes of positions in m and of velocities in m/s."""
    return body.radius, surface_circular_speed(body)


def _single(
    quantity: Quantity, expression: linkage.EndExpression, low: float, high: float
) -> Condition:
    return Condition(
        quantities=(quantity,), expression=expression, bounds=Bounds(lower=(low,), upper=(high,))
    )


def _zeros(
    names: tuple[str, ...], expression: linkage.EndExpression, value: float = 0.0
) -> Condition:
    return Condition(
        quantities=tuple(Quantity(name) for name in names),
        expression=expression,
        bounds=Bounds.fixed((value,) * len(names)),
    )
