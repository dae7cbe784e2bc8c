"""From a vehicle, a mission and a plan to the sequence of arcs."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from functools import cached_property, lru_cache
from itertools import pairwise
from math import pi, sqrt

import casadi as ca
import numpy as np

from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.arc_parameters import arc_parameters
from ascentopt.flight.phases.hold_down import held_down
from ascentopt.flight.phases.reserve import reserve_of
from ascentopt.flight.phases.sequence import FlightArc, Joint, Sequence
from ascentopt.flight.phases.splitting import (
    Leg,
    named_apart,
    spans_of,
    upright,
    with_fairing_drop,
    with_turning_arcs,
)
from ascentopt.flight.phases.vertical_rise import seconds_to_rise
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, DragCurve, SolidMotor, Stage, Vehicle
from ascentopt.world.air import ground_velocity
from ascentopt.world.ellipsoid import site_position

SLIVER = 1e-6  # s; events of different clocks that miss each other by rounding are one event
SHORTEST_FREE = 1e-3  # s; a free arc of no length at all has no direction in time to improve in


def sequence_of(vehicle: Vehicle, mission: Mission, plan: FlightPlan) -> Sequence:
    """Lay the flight out, arc by arc, the plan's ballast aboard, from the release on the pad.

    Raises:
        InputError: when the plan asks for what the vehicle cannot do.
    """
    plan.check(vehicle)
    vehicle = held_down(vehicle.with_ballast(plan.ballast or 0.0), mission)
    builder = _Builder(vehicle, mission, plan)
    legs = list(builder.first_stage())
    for index in range(1, plan.inserting_stage + 1):
        legs += builder.upper_stage(index)
    legs = with_fairing_drop(named_apart(legs), vehicle, plan)
    position, velocity = lift_off(mission)
    arcs = with_turning_arcs([arc for leg in legs for arc in leg.arcs], plan)
    last = plan.inserting_stage if builder.cut_off is None else builder.cut_off
    free = [k for k, arc in enumerate(arcs) if arc.burning and arc.stage == last]
    return Sequence(
        arcs=arcs,
        spans=tuple(spans_of(legs)),
        position=position,
        velocity=velocity,
        mass=vehicle.lift_off_mass,
        reserve=builder.reserve,
        cut_off=free[-1],
        ballasted=plan.ballast is None,
        southward=plan.southward,
        untouched=sum(one.propellant_mass for one in vehicle.stages[plan.inserting_stage + 1 :]),
    )


def longest_revolution(mission: Mission) -> float:
    """Period in s of a circle at the greatest distance that the mission's orbit tells of.

    Longer than any coast that leads to it: half a transfer takes less than half of it, and so does
    the way to a node on a lower orbit.
    """
    body, orbit = mission.body, mission.orbit
    high, low = orbit.apoapsis_radius_around(body), orbit.periapsis_radius_around(body)
    axis = orbit.semi_major_axis_around(body)
    radius = high or low or axis or 2.0 * (body.radius + mission.floor)
    return 2.0 * pi * sqrt(radius**3 / body.gravitational_parameter)


@lru_cache(maxsize=64)
def lift_off(mission: Mission) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    """Inertial position and velocity of the site at the instant of lift-off."""
    site, body = mission.site, mission.body
    place = site_position(body, site.latitude, mission.right_ascension, site.altitude)
    velocity = -ground_velocity(body, place, ca.DM.zeros(3))
    return _triple(place), _triple(velocity)


def _triple(column: ca.DM) -> tuple[float, float, float]:
    x, y, z = np.array(column, dtype=float).ravel()
    return float(x), float(y), float(z)


@dataclass(frozen=True)
class _Builder:
    vehicle: Vehicle
    mission: Mission
    plan: FlightPlan

    @cached_property
    def cut_off(self) -> int | None:
        """Index of the stage whose burn has a free end; None where all burn to their ends."""
        return self.plan.cut_off_stage(self.vehicle)

    @cached_property
    def reserve(self) -> float:
        """Propellant in kg that the inserting stage keeps."""
        return reserve_of(self.vehicle, self.mission, self.plan)

    def first_stage(self) -> Iterator[Leg]:
        """Legs between the clocks' events, the vertical rise cut out of the one it ends in."""
        rise_end = self._rise_time()
        for start, end in pairwise(self._clock()):
            arc = self._first_stage_arc(start, end)
            if rise_end is None or rise_end <= start:
                yield Leg.of(arc)
            elif rise_end >= end:
                yield Leg.of(replace(arc, kind=upright(arc.kind)))
            else:
                pieces = self._rise(arc), replace(arc, duration=(0.0, arc.duration[1]))
                yield Leg(pieces, arc.duration)
        yield from self._coasts_and_further_burns(0)

    def _clock(self) -> list[float]:
        """Instants, from zero, at which something is lit, burns out or is dropped."""
        core = self.vehicle.stages[0]
        instants = {0.0, core.ignition_delay, core.ignition_delay + self._core_burn(0)[1]}
        for group in self.vehicle.boosters:
            instants |= {group.ignition_time, group.burn_out_time}
        ordered = sorted(instants)
        distinct = [a for a, b in pairwise(ordered) if b - a > SLIVER]
        return [*distinct, ordered[-1]]

    def _core_burn(self, index: int) -> tuple[float, float]:
        """Shortest and longest burn of a stage that burns all it may."""
        stage = self.vehicle.stages[index]
        whole = stage.burn_time
        if index == self.plan.inserting_stage:
            whole *= 1.0 - self.reserve / stage.propellant_mass
        return whole, whole / self._least_throttle(stage)

    def _least_throttle(self, stage: Stage) -> float:
        """Least throttle that a flight may use: full, where neither a limit nor the plan asks.

        Along most flights full thrust or none is best, and a throttle that is free to do nothing is
        a direction in which the program has no answer; the plan asks where costates say it pays.
        """
        if self._throttles(stage):
            return stage.engine.min_throttle
        limits = self.mission.limits
        needed = limits.axial_acceleration, limits.dynamic_pressure, limits.staging_dynamic_pressure
        return stage.engine.min_throttle if any(v is not None for v in needed) else 1.0

    def _throttles(self, stage: Stage) -> bool:
        """Whether the plan asks for throttle, whatever the limits."""
        return any(self.vehicle.stages[k] is stage for k in self.plan.throttling)

    def _first_stage_arc(self, start: float, end: float) -> FlightArc:
        core = self.vehicle.stages[0]
        middle = 0.5 * (start + end)
        groups = [g for g in self.vehicle.boosters if g.ignition_time < middle < g.burn_out_time]
        lit = middle > core.ignition_delay
        last = end == self._clock()[-1]
        shed = [g for g in self.vehicle.boosters if abs(g.burn_out_time - end) <= SLIVER]
        joint = self._end_of_burn(0) if last else _shed(shed, end)
        return FlightArc(
            name="+".join([*([core.name] if lit else []), *(g.name for g in groups)]) or "wait",
            kind=self._kind(core if lit else None, groups, clock_starts=False),
            numbers=self._numbers(core if lit else None, groups, core.ignition_delay),
            stage=0,
            duration=self._duration(0, start, end) if last else (end - start, end - start),
            least_mass=self._least_mass(0, groups),
            min_throttle=self._least_throttle(core),
            throttles=self._throttles(core),
            joint=joint,
        )

    def _duration(self, index: int, start: float, end: float) -> tuple[float, float]:
        """Bounds of the last arc of a stage that began to burn earlier."""
        shortest, longest = self._core_burn(index)
        if self._ends_freely(index):
            return SHORTEST_FREE, end - start
        return max(end - start - (longest - shortest), SHORTEST_FREE), end - start

    def _ends_freely(self, index: int) -> bool:
        """Whether burns of a stage may end before its propellant does."""
        early = index in self.plan.cut_early or self.plan.relights(index) > 0
        return early or index == self.cut_off

    def upper_stage(self, index: int) -> Iterator[Leg]:
        """Delay or coast, the burn, and for the inserting stage coasts and further burns."""
        stage, plan = self.vehicle.stages[index], self.plan
        if index in plan.coast_before:
            shortest = max(stage.ignition_delay, SHORTEST_FREE)
            yield Leg.of(self._coast(index, (shortest, self._longest_coast)))
        elif stage.ignition_delay > 0.0:
            yield Leg.of(self._coast(index, (stage.ignition_delay, stage.ignition_delay)))
        yield Leg.of(self._burn(index))
        yield from self._coasts_and_further_burns(index)

    @cached_property
    def _longest_coast(self) -> float:
        """What the plan says, or a revolution of the widest orbit concerned, s."""
        given = self.plan.longest_coast
        return longest_revolution(self.mission) if given is None else given

    def _coasts_and_further_burns(self, index: int) -> Iterator[Leg]:
        """Coasts and further burns of a stage."""
        restarts, inserting = self.plan.relights(index), index == self.plan.inserting_stage
        of = "" if inserting else f" of {self.vehicle.stages[index].name}"
        for again in range(restarts):
            coast = self._coast(index, (SHORTEST_FREE, self._longest_coast))
            yield Leg.of(replace(coast, name=f"coast {again + 1}{of}"))
            name = f"{self.vehicle.stages[index].name} burn {again + 2}"
            burn, last = replace(self._burn(index), name=name), again == restarts - 1
            yield Leg.of(replace(burn, joint=self._end_of_stage(index)) if last else burn)

    def _burn(self, index: int) -> FlightArc:
        stage = self.vehicle.stages[index]
        duration = self._core_burn(index)
        if self._ends_freely(index):
            duration = (SHORTEST_FREE, duration[1])
        return FlightArc(
            name=stage.name,
            kind=self._kind(stage, [], clock_starts=True),
            numbers=self._numbers(stage, [], 0.0),
            stage=index,
            duration=duration,
            least_mass=self._least_mass(index, []),
            min_throttle=self._least_throttle(stage),
            throttles=self._throttles(stage),
            joint=self._end_of_burn(index),
        )

    def _coast(self, index: int, duration: tuple[float, float]) -> FlightArc:
        stage = self.vehicle.stages[index]
        return FlightArc(
            name=f"coast to {stage.name}",
            kind=self._kind(None, [], clock_starts=False),
            numbers=self._numbers(None, [], 0.0),
            stage=index,
            duration=duration,
            least_mass=self._least_mass(index, []),
            joint=Joint(event=f"{stage.name} ignition"),
        )

    def _end_of_burn(self, index: int) -> Joint:
        """The first burn of a stage ends it, unless it is lit again."""
        if self.plan.relights(index):
            return Joint(event=f"{self.vehicle.stages[index].name} cut-off")
        return self._end_of_stage(index)

    def _end_of_stage(self, index: int) -> Joint:
        stage = self.vehicle.stages[index]
        if index == self.plan.inserting_stage:
            return Joint(event="insertion")
        left = self.vehicle.mass_above(index)
        return Joint(event=f"{stage.name} separation", mass_after=left, staging=True)

    def _least_mass(self, index: int, groups: list[BoosterGroup]) -> float:
        dry = sum(group.count * group.dry_mass for group in groups)
        if index == self.plan.inserting_stage:
            dry += self.reserve
        return self.vehicle.mass_above(index) + self.vehicle.stages[index].dry_mass + dry

    def _kind(
        self, core: Stage | None, groups: list[BoosterGroup], *, clock_starts: bool
    ) -> ArcKind:
        aerodynamics = self.vehicle.aerodynamics
        drag = aerodynamics.drag_coefficient if aerodynamics is not None else 0.0
        curve = core.engine if core is not None and isinstance(core.engine, SolidMotor) else None
        guidance = Guidance.STEERED if core is not None or groups else Guidance.COAST
        return ArcKind(
            body=self.mission.body,
            guidance=guidance,
            drag_curve=drag if isinstance(drag, DragCurve) else None,
            throttled=core is not None and self._least_throttle(core) < 1.0,
            core_curve=curve,
            core_clock_starts=clock_starts and curve is not None,
            side_curves=tuple(
                (g.engine, g.count) for g in groups if isinstance(g.engine, SolidMotor)
            ),
            direction_is_state=self.mission.limits.pitch_rate is not None
            and guidance is Guidance.STEERED,
        )

    def _numbers(
        self, core: Stage | None, groups: list[BoosterGroup], ignition: float
    ) -> tuple[float, ...]:
        engine = core.engine if core is not None else None
        return arc_parameters(engine, self.vehicle.aerodynamics, groups, ignition).numbers

    def _rise(self, arc: FlightArc) -> FlightArc:
        return replace(
            arc,
            name="vertical rise",
            kind=upright(arc.kind),
            duration=(0.0, arc.duration[1]),
            joint=Joint(event="pitch-over"),
            rise=self.mission.vertical_rise,
        )

    def _rise_time(self) -> float | None:
        """Seconds that the rise takes without drag: tells between which events it ends."""
        height = self.mission.vertical_rise
        if height is None:
            return None
        pieces = ((a, self._first_stage_arc(a, b)) for a, b in pairwise(self._clock()))
        return seconds_to_rise(pieces, self.mission, height, self.vehicle.lift_off_mass)


def _shed(groups: list[BoosterGroup], end: float) -> Joint:
    if not groups:
        return Joint(event=f"ignition at {end:.6g} s")
    names = " and ".join(group.name for group in groups)
    drop = sum(group.count * group.dry_mass for group in groups)
    return Joint(event=f"{names} separation", mass_drop=drop, staging=True)
