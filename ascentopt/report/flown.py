"""What figures and the flight card are made of: a flight, who flew it, and what for."""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import cached_property
from itertools import groupby

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.guidance.law import SteeringLaw
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import Mission
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.rocket import Vehicle
from ascentopt.studies.simplify.simpler import SimplerProgramme
from ascentopt.typing import Floats
from ascentopt.units import in_places
from ascentopt.world.orbital_elements import OrbitalElements, elements

LONG_COAST = 600.0
"""s. A longer coast is not drawn to the scale of the ascent, which it would flatten."""

CAUTION = (
    "Preliminary analysis only. Real launches endanger people: range safety, licensing and the "
    "authority of the launching state decide, and a licensed practitioner signs."
)


@dataclass(frozen=True, kw_only=True)
class Stretch:
    """A burn or a coast: arcs in a row of one stage. `first` and `last` index the arcs.

    `start` and `end` are s since lift-off.
    """

    name: str
    stage: int
    burning: bool
    first: int
    last: int
    start: float
    end: float

    @property
    def duration(self) -> float:
        """Seconds."""
        return self.end - self.start


@checked_kinds
@dataclass(frozen=True, kw_only=True)
class Flown:
    """A flight with the vehicle that flew and the mission that it flew for.

    `Flown.by_hand` makes one of what `fly` returns; an `Ascent` is turned into one by whoever
    draws it. Raises `InputError` when the flight is not of this vehicle, mission and law.

    Args:
        vehicle, mission: who flew, and what for.
        law: how it was steered.
        trajectory, events, budget: of the flight.
        name: of the steering, for people.
    """

    vehicle: Vehicle
    mission: Mission
    law: SteeringLaw
    trajectory: Trajectory
    events: EventTable
    budget: DeltaVBudget
    name: str

    __hash__ = None  # type: ignore[assignment]

    def __post_init__(self) -> None:
        flown = [arc.name for arc in self.trajectory.arcs]
        if flown != list(self.sequence.names):
            raise InputError(
                f"Flown: the flight has the arcs {flown}; with vehicle {self.vehicle.name!r} and "
                f"the plan of the law they must be {list(self.sequence.names)}. Give the vehicle, "
                "mission and law that were flown."
            )

    @classmethod
    def by_hand(
        cls,
        vehicle: Vehicle,
        mission: Mission,
        law: SteeringLaw,
        flight: Flight,
        *,
        name: str = "steered by hand",
    ) -> Flown:
        """What `fly(vehicle, mission, law)` returned; `name` says how it was steered."""
        return cls(
            vehicle=vehicle,
            mission=mission,
            law=law,
            trajectory=flight.trajectory,
            events=flight.events,
            budget=flight.budget,
            name=name,
        )

    @classmethod
    def simplified(cls, ascent: Ascent, programme: SimplerProgramme) -> Flown:
        """The flight of what `simplify` made of an ascent. Raises `InputError` for another's."""
        used, penalty = programme.propellant_used, programme.penalty
        ascent.check_measures("Flown.simplified", "the programme", used, penalty)
        count, cost = len(programme.knots), in_places(programme.penalty, 1)
        name = f"pitch programme with {count} knots, {cost} kg beyond the least propellant"
        mission, instant = ascent.mission, programme.lift_off_time
        if instant is not None:
            mission = replace(mission, lift_off_time=instant)
        law, flight = programme.law, programme.flight
        return cls.by_hand(ascent.flown_vehicle, mission, law, flight, name=name)

    @classmethod
    def of(cls, subject: Ascent | Flown) -> Flown:
        """The subject itself, or the flight of an ascent."""
        if isinstance(subject, Flown):
            return subject
        return cls(
            vehicle=subject.vehicle,
            mission=subject.mission,
            law=subject.steering,
            trajectory=subject.trajectory,
            events=subject.events,
            budget=subject.budget,
            name="least propellant",
        )

    @property
    def title(self) -> str:
        """Vehicle, orbit, plan and steering in one line."""
        return (
            f"{self.vehicle.name}: {self.mission.orbit} of {self.mission.body.name}, "
            f"{self.law.plan}; {self.name}"
        )

    @cached_property
    def sequence(self) -> Sequence:
        """The arcs with what happens at their ends."""
        return sequence_of(self.vehicle, self.mission, self.law.plan)

    @property
    def ending(self) -> str:
        """What its end is called: an insertion where it is one."""
        return self.events.rows[-1].name

    @property
    def in_orbit(self) -> bool:
        """Whether it ends in an orbit, be it another than asked for."""
        return self.ending == "insertion"

    @property
    def end(self) -> float:
        """Seconds from lift-off to the end of the flight."""
        return float(self.trajectory.arcs[-1].times[-1])

    @property
    def propellant_left(self) -> float:
        """Kilograms left in the stage that is cut off last, beyond the reserve."""
        arc = self.trajectory.arcs[self.sequence.cut_off]
        return self.sequence.propellant_in_tank(float(arc.states[-1][6]))

    @property
    def propellant_used(self) -> float:
        """Kilograms burned, and dropped with spent stages."""
        left = self.propellant_left + self.sequence.reserve + self.sequence.untouched
        return self.vehicle.propellant_mass - left

    @cached_property
    def stretches(self) -> tuple[Stretch, ...]:
        """Burns and coasts in the order of time."""
        groups = groupby(enumerate(self.sequence.arcs), key=lambda pair: _kind(pair[1]))
        found, track = [], self.trajectory.arcs
        for (stage, burning), group in groups:
            pairs = list(group)
            first, last = pairs[0][0], pairs[-1][0]
            found.append(
                Stretch(
                    name=self.vehicle.stages[stage].name if burning else "coast",
                    stage=stage,
                    burning=burning,
                    first=first,
                    last=last,
                    start=float(track[first].times[0]),
                    end=float(track[last].times[-1]),
                )
            )
        return tuple(found)

    @property
    def long_coasts(self) -> tuple[Stretch, ...]:
        """Coasts of more than ten minutes."""
        return tuple(s for s in self.stretches if not s.burning and s.duration > LONG_COAST)

    def orbit_at(self, state: Floats) -> OrbitalElements:
        """The orbit that a state (7,) coasts on."""
        mu = self.mission.body.gravitational_parameter
        return elements(mu, state[:3], state[3:6])


def first_shown(track: Trajectory, after: float) -> float:
    """The time to which an ascent is drawn: `after` s into the first long coast, or to the end."""
    for arc in track.arcs:
        start, end = float(arc.times[0]), float(arc.times[-1])
        if not arc.directions.any() and end - start > LONG_COAST:
            return start + after
    return float(track.arcs[-1].times[-1])


Subject = Ascent | Flown
"""What can be drawn: an optimum, or a flight by hand."""


def _kind(arc: FlightArc) -> tuple[int, bool]:
    return arc.stage, arc.burning
