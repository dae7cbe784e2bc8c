"""From a sequence of arcs and a mission to a problem of the collocation engine."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from functools import cached_property
from math import inf, pi, sqrt
from typing import Self

from ascentopt.collocation import (
    Arc,
    Bounds,
    Model,
    Objective,
    Problem,
    Quantity,
    RadauMesh,
    Solution,
    Span,
)
from ascentopt.flight.dynamics.elements import LEAST_NEARNESS, Elements
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.plan import MAX_TURN_RATE
from ascentopt.mission import FlightLimits, Mission
from ascentopt.optimal.problem import linkage
from ascentopt.optimal.problem.full_throttle import burns_held_at_full_throttle
from ascentopt.optimal.problem.joints import Joints, length_and_speed
from ascentopt.optimal.problem.path_limits import (
    AxialAcceleration,
    Clearance,
    PathLimit,
    PayloadHeating,
    PitchRate,
    path_limits,
)
from ascentopt.optimal.problem.phase_model import EXCESS, Varied, arc_model, arcs_in_elements
from ascentopt.optimal.problem.target.aim import orbit_aim
from ascentopt.optimal.problem.target.ellipse import orbit_bounds, orbit_numbers
from ascentopt.optimal.problem.target.plane import flown_plane
from ascentopt.optimal.problem.target.terminal import insertion_condition
from ascentopt.optimal.problem.violations import is_without_help_of_drag
from ascentopt.rocket import Vehicle
from ascentopt.world.gravity import surface_time_scale

IMPULSE = tuple(Quantity(f"virtual impulse {axis}", "m/s", 100.0) for axis in "xyz")

SHIFT = tuple(Quantity(f"virtual shift {axis}", "m", 1e5) for axis in "xyz")
"""What is added to the final position: a height that cannot be reached has a price, too, and every
flight is a feasible start."""

EXCESS_PRICE = 10.0
"""Final masses that an excess of e costs, or squares of 100 m/s. Dear enough, and a flight within
the limits is the optimum wherever there is one; the dearer, the more the rest of the flight is left
to chance."""

TARGET_CORRECTION = tuple(
    f"miss of {what} {axis}" for what in ("position", "velocity") for axis in "xyz"
)
"""What is added to the final state before it is compared with the orbit, m and m/s."""

WEIGHTS = ("weight of mass", "weight of missing speed", "weight of excess")
"""In the objective, each in the objective's unit for one unit of its own."""

HEIGHT_PRICE = 4.0
"""Times the orbit's angular rate that a missing height costs. At once it is what the energy is
worth; four times that and a height that can be reached is, so that only speed is missing then."""

LEAST_MASS_SHARE = 0.5
"""Fraction of the least mass below which an iterate may not wander: it keeps the mass positive
without being a second, redundant limit on a burn whose length already says how much is burned."""

BETWEEN_NODES = 10.0
"""m that a coast keeps beyond the clearance: around its lowest point it sinks between the nodes by
what a refined mesh tolerates, half a per cent of a kilometre, and the flight ends on the ground. So
does a burn where no vertical rise lends it height: one that begins on the pad keeps it when it is
as fast as a circle at the ground, which no vehicle hugs beyond that."""


@dataclass(frozen=True, kw_only=True)
class Transcription:
    """What is needed to write a flight as a problem.

    Args:
        vehicle, mission, sequence: the flight.
        meshes: one for each arc.
        limited_arcs: names of the arcs on which limits that need air are imposed.
        in_elements: arcs that are told in elements of the orbit.
        full_throttle: names of burns in which the limit on acceleration asks for no throttle.
        without_help_of_drag: whether drag must not keep the acceleration within its limit, but on
            arcs whose loads are limited.
        needs_ground_clearance: whether the flight must be kept from the ground.
        payload_kept_cool: whether the payload must be kept from heating after the fairing's drop.
        elastic_limits: whether the limits on loads may be multiplied, at a price.
    """

    vehicle: Vehicle
    mission: Mission
    sequence: Sequence
    meshes: tuple[RadauMesh, ...]
    limited_arcs: frozenset[str]
    in_elements: tuple[int, ...] = ()
    full_throttle: frozenset[str] = frozenset()
    without_help_of_drag: bool = False
    needs_ground_clearance: bool = False
    payload_kept_cool: bool = True
    elastic_limits: bool = False

    def written_as(self, solution: Solution) -> Self:
        """The same flight in the coordinates of a solution, and held to what that was held to."""
        return replace(
            self,
            in_elements=arcs_in_elements(solution),
            full_throttle=burns_held_at_full_throttle(self.sequence, solution),
            without_help_of_drag=is_without_help_of_drag(solution),
        )

    def greatest_mass_problem(self) -> Problem:
        """Greatest mass at the last free cut-off, no virtual impulse."""
        mass = Quantity("final mass", "kg", self._mass_scales[self._cut_off])
        return self._problem(mass, (1.0, 0.0), 0.0, maximise=True)

    def least_missing_speed_problem(self) -> Problem:
        """Least speed missing at insertion: zero when the orbit can be reached."""
        missing = Quantity("half squared missing speed", "m^2/s^2", IMPULSE[0].scale ** 2)
        return self._problem(missing, (0.0, 1.0), inf, maximise=False)

    @property
    def _cut_off(self) -> int:
        """Index of the arc at whose end the last free cut-off is."""
        return range(len(self.sequence.arcs))[self.sequence.cut_off]

    def _speed_worth_a_metre(self) -> float:
        """Speed in m/s that a metre of missing height is worth."""
        aim = orbit_aim(self.mission)
        return HEIGHT_PRICE * aim.speed / aim.radius

    def _problem(
        self,
        quantity: Quantity,
        weights: tuple[float, float],
        most: float,
        *,
        maximise: bool,
    ) -> Problem:
        """The elastic program, with ``weights`` of mass and missing speed.

        ``most`` of the virtual impulse and shift. All modes have one structure: weights and bounds
        tell them apart, so they share a program, and one starts with the multipliers of another.
        """
        body, excess = self.mission.body, inf if self.elastic_limits else 0.0
        objective = Objective(
            quantity=quantity, expression=linkage.ElasticObjective(self._cut_off), maximise=maximise
        )
        price = EXCESS_PRICE * objective.sign * quantity.scale
        orbit = orbit_bounds(self.mission)
        return Problem(
            arcs=tuple(self._arc(k) for k in range(len(self.sequence.arcs))),
            conditions=(*self._joints.conditions(), insertion_condition(self.mission)),
            objective=objective,
            spans=tuple(
                Span(first=s.first, last=s.last, shortest=s.shortest, longest=s.longest)
                for s in self.sequence.spans
            ),
            time=Quantity("time", "s", surface_time_scale(body)),
            free=(*IMPULSE, *SHIFT, EXCESS, *orbit_numbers(self.mission)),
            free_bounds=Bounds(
                lower=(*(-most,) * 6, 0.0, *orbit.lower), upper=(*(most,) * 6, excess, *orbit.upper)
            ),
            parameters=(*TARGET_CORRECTION, "pace", *WEIGHTS),
            parameter_values=(
                *(0.0,) * len(TARGET_CORRECTION),
                self._speed_worth_a_metre(),
                *weights,
                price,
            ),
        )

    @cached_property
    def _mass_scales(self) -> list[float]:
        """Mass at the start of each arc if all burns were complete, kg."""
        masses = [self.sequence.mass]
        for arc in self.sequence.arcs[:-1]:
            burned = min(
                arc.parameters.mass_flow + arc.parameters.side_mass_flow,
                masses[-1] / max(arc.duration[0], 1.0),
            )
            left = max(arc.joint.mass(masses[-1] - burned * arc.duration[0]), arc.least_mass)
            masses.append(left)
        return masses

    @property
    def _joints(self) -> Joints:
        names = range(len(self.sequence.arcs))
        return Joints(
            vehicle=self.vehicle,
            mission=self.mission,
            sequence=self.sequence,
            mass_scales=tuple(self._mass_scales),
            coordinates=tuple(self._coordinates(k) for k in names),
        )

    def _clearance(self, k: int) -> Clearance:
        """What an arc keeps from the ground."""
        arc, body, least = self.sequence.arcs[k], self.mission.body, clearance(self.mission)
        if arc.burning and self.mission.vertical_rise:
            return Clearance(least)
        if arc.burning and arc.stage == 0:
            return Clearance(least, BETWEEN_NODES * body.radius / body.gravitational_parameter)
        return Clearance(least + BETWEEN_NODES)

    def _allowed(self, k: int) -> FlightLimits:
        """The limits of an arc, with one on the turn rate where the direction is a state."""
        return _turn_limited(self.mission.limits, self.sequence.arcs[k].kind)

    def _limits(self, k: int) -> tuple[PathLimit, ...]:
        """What is limited along an arc."""
        arc, allowed = self.sequence.arcs[k], self._allowed(k)
        imposed = arc.name in self.limited_arcs
        limits = path_limits(allowed, arc.kind.guidance, in_air=imposed)
        if allowed is not self.mission.limits:
            limits = tuple(PitchRate(assumed=True) if one == PitchRate() else one for one in limits)
        if self.without_help_of_drag and not imposed:
            limits = tuple(
                AxialAcceleration(by_thrust=True) if one == AxialAcceleration() else one
                for one in limits
            )
        if self.needs_ground_clearance and arc.rise is None:
            limits = (*limits, self._clearance(k))
        if (
            self.payload_kept_cool
            and self.vehicle.max_heating
            and arc.name in self.sequence.exposed
        ):
            limits = (*limits, PayloadHeating(self.vehicle.max_heating))
        return limits

    def model(self, k: int, varied: Varied = ()) -> Model:
        """The model of an arc; what is ``varied`` grows with free numbers."""
        arc = self.sequence.arcs[k]
        imposed, coordinates = arc.name in self.limited_arcs, self._coordinates(k)
        limits = self._limits(k)
        return arc_model(
            arc.kind, limits, elastic=imposed, coordinates=coordinates, varied=varied
        )

    def _arc(self, k: int) -> Arc:
        arc, mesh = self.sequence.arcs[k], self.meshes[k]
        pairs = [limit.bounds(self._allowed(k)) for limit in self._limits(k)]
        if self._coordinates(k) is not None:
            pairs.append((LEAST_NEARNESS, inf))
        length, speed = length_and_speed(self.mission.body)
        mass = self._mass_scales[k]
        more = (1.0,) * (3 * arc.kind.direction_is_state)
        return Arc(
            name=arc.name,
            model=self.model(k),
            mesh=mesh,
            parameters=arc.numbers,
            duration=arc.duration,
            state_bounds=self._state_bounds(arc),
            control_bounds=_control_bounds(arc, self._least_throttle(k)),
            path_bounds=Bounds(lower=tuple(p[0] for p in pairs), upper=tuple(p[1] for p in pairs)),
            state_scales=(length,) * 3 + (speed,) * 3 + (mass,) + more,
        )

    def _coordinates(self, k: int) -> Elements | None:
        if k not in self.in_elements:
            return None
        inclination = flown_plane(self.mission).inclination
        body, backwards = self.mission.body, inclination is not None and inclination > 0.5 * pi
        return Elements(body.gravitational_parameter, retrograde=backwards)

    def _state_bounds(self, arc: FlightArc) -> Bounds:
        exact = self._shares_or_throttles(arc)
        floor = arc.least_mass if exact else LEAST_MASS_SHARE * arc.least_mass
        more = 3 * arc.kind.direction_is_state
        return Bounds(
            lower=(-inf,) * MASS + (floor,) + (-inf,) * more,
            upper=(inf,) * (MASS + 1 + more),
        )

    def _shared_tank(self) -> frozenset[str]:
        """Arcs of stages that burn more than once: only their mass tells when they are empty."""
        arcs = self.sequence.arcs
        names: list[str] = []
        for stage in {arc.stage for arc in arcs}:
            own = [k for k, arc in enumerate(arcs) if arc.stage == stage]
            first = next((k for k in own if arcs[k].burning), len(arcs))
            coast = next((k for k in own if k > first and not arcs[k].burning), len(arcs))
            names += [arcs[k].name for k in own if k > coast and arcs[k].burning]
        return frozenset(names)

    def _shares_or_throttles(self, arc: FlightArc) -> bool:
        """Whether the length of an arc does not say what its stage has burned."""
        return arc.kind.throttled or arc.name in self._shared_tank()

    def _least_throttle(self, k: int) -> float:
        """What the engine can do where a limit may ask for it; elsewhere full.

        Burns around a coast can be shared out in endless ways by a throttle that nothing asks for:
        it chatters between the nodes, where no table can follow it.
        """
        arc, limits = self.sequence.arcs[k], self.mission.limits
        most = (limits.axial_acceleration or inf) * arc.least_mass
        pushed = _most_thrust(arc) > most and arc.name not in self.full_throttle
        asked = arc.throttles or pushed or arc.name in self.limited_arcs or self._first_climb(k)
        return arc.min_throttle if asked else 1.0

    def _first_climb(self, k: int) -> bool:
        """Whether the first stage's engine burns, for the first time and under the fairing."""
        before = [arc for arc in self.sequence.arcs[:k] if arc.joint.fairing or arc.free_coast]
        return self.sequence.arcs[k].stage == 0 and not before


def led_by(problem: Problem, lead: Iterable[float]) -> Problem:
    """The problem whose plan leads the flight by ``lead`` (6,), m and m/s, to end in the orbit."""
    values = *map(float, lead), *problem.parameter_values[len(TARGET_CORRECTION) :]
    return replace(problem, parameter_values=values)


def lead_of(problem: Problem) -> tuple[float, ...]:
    """(6,) m and m/s by which the plan leads the flight."""
    return problem.parameter_values[: len(TARGET_CORRECTION)]


def _turn_limited(limits: FlightLimits, kind: ArcKind) -> FlightLimits:
    """The limits, with one on the turn rate where the direction must turn for other reasons."""
    assumed = kind.direction_is_state and limits.pitch_rate is None
    return replace(limits, pitch_rate=MAX_TURN_RATE) if assumed else limits


def _most_thrust(arc: FlightArc) -> float:
    """Greatest thrust in N; solid motors are told by their curves, and not counted on."""
    solid = arc.kind.core_curve is not None or arc.kind.side_curves
    return inf if solid else arc.parameters.thrust + arc.parameters.side_thrust


def clearance(mission: Mission) -> float:
    """Altitude in m to keep after the pitch-over: half of what the vertical rise gained."""
    return mission.site.altitude + 0.5 * (mission.vertical_rise or 0.0)


def _control_bounds(arc: FlightArc, least_throttle: float) -> Bounds:
    steering = 3 if arc.kind.guidance is Guidance.STEERED else 0
    throttle = 1 if arc.kind.throttled else 0
    return Bounds(
        lower=(-inf,) * steering + (least_throttle,) * throttle,
        upper=(inf,) * steering + (1.0,) * throttle,
    )


def missing_speed(solution: Solution) -> float:
    """Missing speed in m/s of a least impulse: its objective is half of the square."""
    return sqrt(2.0 * max(solution.objective, 0.0))
