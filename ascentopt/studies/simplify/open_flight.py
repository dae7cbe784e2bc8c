"""Flights beside one that ends in the orbit, whose own ends are left open.

What a number is worth on the way into the orbit follows from two kinds of flights, each flown once:
with the number changed, and with the unknowns of the insertion changed. No insertion is sought.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from math import inf
from typing import NamedTuple

import numpy as np

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.compiled.load_log import LoadLog, Place
from ascentopt.flight.dynamics.numeric_rates import SLIVER
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.steering.knots import knots_of
from ascentopt.steering.pitch_table import Against
from ascentopt.steering.programme import Programme
from ascentopt.typing import Floats
from ascentopt.world import Body
from ascentopt.world.orbital_elements import eccentricity_vector

_ROUND = 1e-9  # an eccentricity below has no periapsis that matters

_ROOMY = 100.0  # s or km; more room tells nothing

_COLUMNS = 4  # of a log: time and the loads

_LEVEL = 1e-12
"""Of the largest: singular values below are directions that move no end."""


@dataclass(frozen=True, eq=False, kw_only=True)
class Choice:
    """The numbers of a flight: the rule's, the insertion's unknowns, and the heading in rad."""

    values: tuple[float, ...]
    unknowns: tuple[float, ...]
    heading: float

    @classmethod
    def of(cls, closed: ClosedRuleFlight) -> Choice:
        """Of a flight that ends in the orbit."""
        return cls(values=closed.values, unknowns=closed.unknowns, heading=closed.heading)


class OpenEnd(NamedTuple):
    """What a flight comes to.

    Attributes:
        used: kg of propellant, counted from somewhere.
        met: (e,) measures of the orbit that are to be met.
        loads: (n, 1 + l) time in s and loads.
        knots: (k,) s at which the knots are passed.
        edges: (m,) s or km that are left until its insertion cannot be flown.
        heating: W/m^2, the most after the fairing has gone; zero with it, or without air.
    """

    used: float
    met: Floats
    loads: Floats
    knots: Floats
    edges: Floats
    heating: float


class _Told(NamedTuple):
    """Loads, as `OpenEnd` has them, and where phases began."""

    loads: Floats
    places: list[Place]


class OpenFlights:
    """Flights near a closed one, from the last joint or phase at which they are still the same.

    Args:
        flight: the rule's.
        closed: flown by it.
        until: s, to which loads are told.
    """

    def __init__(
        self, flight: RuleFlight, closed: ClosedRuleFlight, until: float = inf
    ) -> None:
        self._choice, self._until = Choice.of(closed), until
        self._problem = flight.problem(closed.law.plan, closed.values)
        self._sequence = self._problem.sequence
        self._compiled = self._problem.flight(closed.law)
        self._log, self._marks = closed.log, closed.marks
        self._against = knots_of(closed.law.steps)[0].against

    @cached_property
    def closed(self) -> OpenEnd:
        """What the closed flight comes to."""
        told = _Told(_rows(self._log, self._until), self._log.places)
        return self._ended(self._compiled, [*self._marks], self._choice, told)

    def changed(self, choice: Choice, since: float) -> OpenEnd:
        """What a flight comes to that differs from some instant in s on.

        A flight that comes to no end is as the closed one.
        """
        place = next(one for one in reversed(self._log.places) if one.now.time <= since + SLIVER)
        marks, begins = [*self._marks[: len(place.mark.begun) + 1]], place.now.time
        flight = self._compiled.steered_by(self._law(choice))
        flight.log = LoadLog() if begins < self._until else None
        try:
            end = flight.fly_arc(place.mark, place.now)
            marks += flight.fly_arcs(end, len(self._sequence.arcs))
        except CompiledFlightError:
            return self.closed
        told = _Told(self.closed.loads, self._log.places)
        if flight.log is not None:
            before = told.loads[told.loads[:, 0] < begins]
            places = [one for one in told.places if one.now.time < begins]
            told = _Told(
                np.vstack([before, _rows(flight.log, self._until)]), places + flight.log.places
            )
        return self._ended(flight, marks, choice, told)

    def _ended(
        self, flight: CompiledFlight, marks: list[Checkpoint], choice: Choice, told: _Told
    ) -> OpenEnd:
        insertion = self._problem.insertion
        acting = tuple(marks[insertion.begins(self._sequence) :])
        rooms = insertion.rooms(flight, acting, choice.unknowns)
        return OpenEnd(
            used=-self._sequence.propellant_left(marks[-1].mass),
            met=self._met(marks[-1]),
            loads=told.loads,
            knots=self._passed(choice, told.places),
            edges=np.array([min(room.left, _ROOMY) for room in rooms]),
            heating=self._hottest(flight, marks),
        )

    def _passed(self, choice: Choice, places: list[Place]) -> Floats:
        """(k,) s at which the knots are passed: where a phase begins, if it has not before."""
        knots = np.array(choice.values[: len(choice.values) // 2])
        if self._against is Against.TIME:
            return knots
        around = self._compiled.surroundings
        heights = np.array([around.altitude(place.now.state) for place in places])
        nearest = np.abs(heights - knots[:, None]).argmin(axis=1)
        return np.array([places[k].now.time for k in nearest])

    def _hottest(self, flight: CompiledFlight, marks: list[Checkpoint]) -> float:
        """W/m^2 on the bare payload at the ends of burns and where a coast comes lowest."""
        arcs, around = self._sequence.arcs, flight.surroundings
        gone = next((k for k, arc in enumerate(arcs) if arc.joint.fairing), None)
        if gone is None or around.body.atmosphere is None:
            return 0.0
        found = []
        for index in range(gone + 1, len(arcs)):
            arc, start = arcs[index], marks[index]
            found.append(around.heating(marks[index + 1].state))
            if not arc.burning and float(start.state[:3] @ start.state[3:6]) < 0.0:
                found.append(around.heating(lowest(around.body, start.state)))
        return max(found, default=0.0)

    def before_altitude(self, height: float) -> float:
        """S of a joint until which the vehicle has only climbed, and no higher than `height` m."""
        time = self._marks[0].time
        for mark in self._marks[:-1]:
            climbs = float(mark.state[:3] @ mark.state[3:6]) >= 0.0
            if not climbs or self._compiled.surroundings.altitude(mark.state) > height:
                break
            time = mark.time
        return time

    @property
    def mass_for_speed(self) -> float:
        """Kilograms of propellant that a metre per second costs at the end."""
        last = self._sequence.arcs[-1].parameters
        return self._marks[-1].mass * last.mass_flow / last.thrust

    @property
    def steered(self) -> float:
        """When the vehicle begins to steer, s."""
        first = next(k for k, arc in enumerate(self._sequence.arcs) if arc.rise is None)
        return self._marks[first].time

    @property
    def inserting(self) -> float:
        """When the unknowns of the insertion begin to act, s."""
        return self._marks[self._problem.insertion.begins(self._sequence)].time

    def _law(self, choice: Choice) -> Programme:
        problem = replace(self._problem, values=choice.values)
        return problem.law(problem.steps(choice.heading), choice.unknowns)

    def _met(self, end: Checkpoint) -> Floats:
        """By how much the orbit is missed; its inclination where that is given."""
        count = 3 if self._problem.inclination is None else 4
        return self._problem.miss(end)[:count]


def lowest(body: Body, state: Floats) -> Floats:
    """(6,) at the periapsis of the orbit through a state."""
    mu, position, velocity = body.gravitational_parameter, state[:3], state[3:6]
    spin = np.cross(position, velocity)
    shape = eccentricity_vector(mu, position, velocity)
    eccentricity, momentum = float(np.linalg.norm(shape)), float(np.linalg.norm(spin))
    if eccentricity < _ROUND:
        return state[:6]
    outward, ahead = shape / eccentricity, np.cross(spin, shape) / (momentum * eccentricity)
    distance = momentum**2 / mu / (1.0 + eccentricity)
    return np.concatenate([distance * outward, momentum / distance * ahead])


def _rows(log: LoadLog, until: float) -> Floats:
    """(n, 1 + loads) of the steps that begin before an instant."""
    kept = log.until(until)
    return kept.rows() if kept.steps else np.zeros((0, _COLUMNS))


def follow(ends: Floats, unknowns: Floats) -> Floats:
    """(u, n) how the unknowns follow the numbers so that the orbit is still met.

    `ends` (e, n) and `unknowns` (e, u) are slopes of the measures of the orbit.
    """
    size = np.abs(unknowns).max(axis=1, initial=1e-300)[:, None]
    return -np.asarray(np.linalg.lstsq(unknowns / size, ends / size, rcond=_LEVEL)[0])
