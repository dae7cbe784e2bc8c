"""A plan made ready: its arcs, where guidance takes over, and what it aims at on each leg."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass, replace
from math import acos

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.hold_down import held_down
from ascentopt.flight.phases.reserve import reserve_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.guided.guidance.explicit import Aimed, Phases, Predictor
from ascentopt.guided.guidance.leg import (
    Leg,
    Power,
    apoapsis_radius,
    climb_rate,
    local_frame,
    periapsis_radius,
)
from ascentopt.guided.guidance.targets import (
    AnyPlane,
    Apoapsis,
    Fixed,
    Inclined,
    OrbitShape,
    Plane,
    Target,
    ThroughNode,
)
from ascentopt.guided.plan.planned_arc import EndOf, PlannedArc, planned_arcs
from ascentopt.guided.plan.tables import aim_of
from ascentopt.guided.steps.aims import Abscissa, Aim, AirSpeed
from ascentopt.guided.steps.rows import unit
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering
from ascentopt.typing import Floats

STEPS = 4
"""Of the prediction in each phase, of equal gain in speed: more change what a burn is predicted to
take by a part in 1e5 at most (benchmarks/decisions)."""

LEVEL = 1e-3
"""rad. A plane less inclined to the equator than this is aimed at as it is planned: its node is
nowhere."""


ANY_ANGLE = 0.5
"""rad: guidance hardly ever turns the axis farther from the motion through the air."""

ANY_ANGLE_PRESSURE = 5e3
"""Pa, where no limit on q alpha says more (common practice, no source)."""


@dataclass(frozen=True, kw_only=True)
class Guidance:
    """When and how guidance steers.

    Args:
        cost: share of the propellant. Guidance takes over from the table as early as that costs a
            flight as planned no more than this beyond what the table alone costs; what it neglects
            is the air, and that a fairing may go sooner higher up.
        cycle: s between its solutions, and twice that while more than `far` s are left to burn.
        far: s.
        place: s before the cut-off from when on the place where it ends is left to itself.
        denser: share by which the air on a coast may be denser than nominal without that the
            apoapsis comes short of the plan: from a higher one the orbit is reached at small cost,
            from a lower one hardly.
        abscissa: what the table through the air counts.
    """

    cost: float = 1e-4
    cycle: float = 1.0
    far: float = 60.0
    place: float = 5.0
    denser: float = 0.15
    abscissa: Abscissa = AirSpeed()


@dataclass(frozen=True, eq=False)
class Prepared:
    """All that every draw of a plan has in common.

    Args:
        vehicle: as described; `held` as it leaves the pad.
        mission, plan, sequence: what is flown.
        arcs: as planned.
        aims: of the arcs and parts of arcs that the table steers; None on coasts.
        legs: that guidance steers, in order.
        guidance: its numbers.
        reserve: kg that the inserting stage keeps.
        to_apoapsis: whether legs that leave their stage on a ballistic climb to where it is lit
            again are aimed at the apoapsis beyond, not at their planned ends. A short burn reaches
            no place that is far off, and a long one comes lower so.
    """

    vehicle: Vehicle
    held: Vehicle
    mission: Mission
    plan: FlightPlan
    sequence: Sequence
    arcs: tuple[PlannedArc, ...]
    aims: tuple[Aim | None, ...]
    legs: tuple[Leg, ...]
    guidance: Guidance
    reserve: float
    to_apoapsis: bool = False

    @classmethod
    def of(
        cls,
        vehicle: Vehicle,
        mission: Mission,
        plan: FlightPlan,
        trajectory: Trajectory,
        steering: TabulatedSteering,
        guidance: Guidance,
    ) -> Prepared:
        """Prepare it. Raises `InputError` where guidance finds no way as planned."""
        sequence = sequence_of(vehicle, mission, plan)
        held = held_down(vehicle.with_ballast(plan.ballast or 0.0), mission)
        arcs = planned_arcs(sequence, trajectory, _freely_ended(vehicle, plan))
        pairs = zip(arcs, steering.segments, strict=True)
        aims = tuple(aim_of(one, own, guidance.abscissa, steering.axis) for one, own in pairs)
        bare = cls(
            vehicle, held, mission, plan, sequence, arcs, aims, (), guidance,
            reserve_of(vehicle, mission, plan),
        )  # fmt: skip
        return bare.with_later_legs()

    def aimed_at_apoapses(self) -> Prepared | None:
        """The same, aimed so; None where no leg climbs so, or guidance finds no way."""
        if not any(map(self._climbs_to_relight, self.ends_of_legs())):
            return None
        with suppress(InputError):
            return replace(self, to_apoapsis=True).with_later_legs()
        return None

    def with_later_legs(self) -> Prepared:
        """The same with all legs but the first, which wants a handover."""
        starts = [(last + 2, 0.0) for last in self.ends_of_legs()]
        return replace(self, legs=self._legs(starts[:-1], self.ends_of_legs()[1:]))

    def handing_over(self, first: int, since: float) -> Prepared:
        """The same with guidance from so many seconds into an arc of the first leg on.

        Raises `InputError` where guidance finds no way from there.
        """
        last = self.ends_of_legs()[0]
        later = tuple(leg for leg in self.legs if leg.last != last)
        return replace(self, legs=(*self._legs([(first, since)], [last]), *later))

    @property
    def thin(self) -> float:
        """Pa of dynamic pressure below which any angle of attack keeps its limit with q."""
        limit = self.mission.limits.q_alpha
        return ANY_ANGLE_PRESSURE if limit is None else limit / ANY_ANGLE

    @property
    def cut_off(self) -> int:
        """Place of the last arc whose end is free."""
        return self.sequence.cut_off % len(self.arcs)

    def leg_of(self, k: int) -> int | None:
        """Which leg an arc is part of."""
        for place, leg in enumerate(self.legs):
            if leg.first <= k <= leg.last:
                return place
        return None

    def ends_of_legs(self) -> list[int]:
        """Places of the arcs at whose ends the flight is judged by its orbit."""
        return [k for k, one in enumerate(self.arcs) if one.ending is EndOf.STATE]

    def target(self, last: int) -> Target:
        """Of the leg that ends with an arc: where the plan ends, in a plane as the mission asks."""
        state = self.arcs[last].end
        radius = float(np.linalg.norm(state[:3]))
        climb = float(climb_rate(state[None])[0])
        speed = float(np.linalg.norm(np.cross(state[:3], state[3:6]))) / radius
        plane, free = self._plane(state, last), not self.arcs[last].solid
        if last < len(self.arcs) - 1:
            return Target(radius, climb, speed, plane, free)
        shape = _shape_asked(self.mission, state)
        radius, climb, speed = (float(one[0]) for one in shape.place(state[None]))
        return Target(radius, climb, speed, plane, free, shape)

    def _plane(self, state: Floats, last: int) -> Plane:
        orbit = self.mission.orbit
        normal = unit(np.cross(state[:3], state[3:6])[None])[0]
        fixed = Fixed((float(normal[0]), float(normal[1]), float(normal[2])))
        tilt = acos(float(np.clip(normal[2], -1.0, 1.0)))
        if orbit.inclination is not None and orbit.ascending_node is not None:
            return fixed
        if orbit.ascending_node is not None:
            return ThroughNode(orbit.ascending_node)
        if orbit.inclination is None:
            return AnyPlane()
        if not LEVEL < tilt < np.pi - LEVEL:
            return fixed
        return Inclined(orbit.inclination if last == len(self.arcs) - 1 else tilt)

    def _aimed_at(self, last: int) -> Target:
        """Of a leg: its planned end, or the apoapsis that it leads to."""
        place = self.target(last)
        if not (self.to_apoapsis and self._climbs_to_relight(last)):
            return place
        mu = self.mission.body.gravitational_parameter
        far = float(apoapsis_radius(mu, self.arcs[last].end[None])[0])
        return Apoapsis(place.radius, place.climb, place.speed, place.plane, mu=mu, apoapsis=far)

    def _climbs_to_relight(self, last: int) -> bool:
        """Whether a leg leaves its stage on a ballistic climb to where it is lit again.

        Ballistic is what would come down to the ground. What clears it passes low once more, or
        nearly so, and how low is as much a part of where it is to end as the apoapsis. And what a
        stage that is dropped has left is worth nothing, so that no speed saved pays for it.
        """
        if last + 2 >= len(self.arcs) or self.arcs[last].solid:
            return False
        one, coast, later = self.arcs[last : last + 3]
        end, body = one.end[None], self.mission.body
        lowest = periapsis_radius(body.gravitational_parameter, end)[0]
        rises = climb_rate(end)[0] > 0.0 and coast.about_apoapsis
        return bool(rises and lowest < body.radius and later.arc.stage == one.arc.stage)

    def _legs(self, starts: list[tuple[int, float]], ends: list[int]) -> tuple[Leg, ...]:
        powers = tuple(Power.of(stage.engine) for stage in self.held.stages)
        legs = []
        for (start, since), last in zip(starts, ends, strict=True):
            first = next(k for k in range(start, last + 1) if self.arcs[k].arc.burning)
            blank = Aimed(np.zeros((1, 3)), np.zeros((1, 3)), np.zeros(1))
            leg = Leg(self.arcs, first, last, since, self._aimed_at(last), powers, blank)
            legs.append(replace(leg, guess=self._solved(leg)))
        return tuple(legs)

    def _solved(self, leg: Leg) -> Aimed:
        """What leads a flight that goes as planned to the target, in its frame.

        Raises `InputError` where nothing does.
        """
        one = self.arcs[leg.first]
        k = int(np.searchsorted(one.flown.times, one.began + leg.since - 1e-9))
        state, mass = one.flown.states[k : k + 1], one.flown.states[k : k + 1, 6]
        p, rate = _primer(leg, float(one.flown.times[k]))
        end = self.arcs[leg.last]
        left = end.length if leg.last > leg.first else end.length - leg.since
        aimed = Aimed(p, rate, np.array([left]))
        phases = leg.phases(leg.first, np.ones(1), mass, np.full(1, leg.since))
        short = leg.first == leg.last and left < self.guidance.place
        velocity = short and leg.target.is_place
        aimed = self._iterated(leg, state, aimed, phases, velocity=velocity)
        frame = local_frame(state)[0]
        return Aimed(aimed.p @ frame.T, aimed.rate @ frame.T, aimed.left)

    def _iterated(
        self, leg: Leg, state: Floats, aimed: Aimed, phases: Phases, *, velocity: bool
    ) -> Aimed:
        predictor = Predictor(self.mission.body, leg.target, STEPS)
        for _ in range(_MOST):
            before = aimed
            aimed = predictor.correct(state, aimed, phases, velocity=velocity)
            change = np.abs(aimed.p - before.p).max() + abs(aimed.left[0] - before.left[0]) / 1e3
            if change < _CLOSE:
                return aimed
        raise InputError(
            f"DispersedFlight: guidance finds no way from {self.arcs[leg.first].arc.name!r} to the "
            f"end of {self.arcs[leg.last].arc.name!r} as planned; it must, to be flown with "
            "deviations. Give an ascent whose certificate holds."
        )


_STEADY = 1e-3
"""Weight of a rate beside the planned directions: what hardly turns says nothing of it."""

_MOST, _CLOSE = 40, 1e-9
"""Corrections at most, and what the last one changes: convergence is quadratic."""


def _primer(leg: Leg, now: float) -> tuple[Floats, Floats]:
    """(1, 3) p and its rate along which the planned directions of a leg lie best from now on.

    Where d is a direction, d x (p + t p') is as small as it can be for p and p' of size one.
    """
    burns = [one.flown for one in leg.arcs[leg.first : leg.last + 1] if one.arc.burning]
    times = np.concatenate([one.times for one in burns]) - now
    ahead = times >= 0.0
    times, directions = times[ahead], np.concatenate([one.directions for one in burns])[ahead]
    whole = max(float(times[-1]), 1e-3)
    x, y, z = directions.T
    zero = np.zeros_like(x)
    across = np.stack([zero, -z, y, z, zero, -x, -y, x, zero], axis=1).reshape(-1, 3)
    late = np.repeat(times / whole, 3)[:, None] * across
    steady = _STEADY * np.eye(6)[3:]
    rows = np.concatenate([np.hstack([across, late]) / np.sqrt(len(times)), steady])
    found = np.linalg.svd(rows)[2][-1]
    found *= np.sign(found[:3] @ directions[0]) / np.linalg.norm(found[:3])
    return found[None, :3], found[None, 3:] / whole


def _freely_ended(vehicle: Vehicle, plan: FlightPlan) -> frozenset[int]:
    stages = range(len(vehicle.stages))
    free = {k for k in stages if k in plan.cut_early or plan.relights(k) > 0}
    cut_off = plan.cut_off_stage(vehicle)
    return frozenset(free | ({cut_off} if cut_off is not None else set()))


def _shape_asked(mission: Mission, planned: Floats) -> OrbitShape:
    """Of the orbit asked for; what is free of it as planned."""
    orbit, body = mission.orbit, mission.body
    mu, state = body.gravitational_parameter, planned[None]
    low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
    return OrbitShape(
        mu,
        float(periapsis_radius(mu, state)[0]) if low is None else low,
        float(apoapsis_radius(mu, state)[0]) if high is None else high,
    )
