"""What a steering table was made for, told so that another simulator can fly it."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.trajectory import Trajectory, TrajectoryArc
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, Vehicle
from ascentopt.steering.table.context_text import context_lines
from ascentopt.tables import in_a_line, one_line

_LIFT_OFF = "lift-off"


@dataclass(frozen=True, kw_only=True)
class SteeringEvent:
    """What happens at the end of an arc, or as the first one begins.

    Args:
        arc: its name.
        name: of the event.
        time: s since lift-off.
        mass_before, mass_after: kg, None where they are not known; what leaves is dropped, and
            propellant that is left in it too.
    """

    arc: str
    name: str
    time: float
    mass_before: float | None = None
    mass_after: float | None = None

    __repr__ = in_a_line


@dataclass(frozen=True, kw_only=True)
class SteeringContext:
    """What a steering table was made for.

    Args:
        notes: lines about vehicle, body, site and plan, most as "name [unit]: value".
        burning: names of what burns on each arc, in order; those of an arc joined by " + ".
        events: in the order of time.
    """

    notes: tuple[str, ...]
    burning: tuple[str, ...]
    events: tuple[SteeringEvent, ...]

    def __repr__(self) -> str:
        return one_line(self, f"{len(self.burning)} arcs, {len(self.events)} events")

    @classmethod
    def of(
        cls, vehicle: Vehicle, mission: Mission, plan: FlightPlan, trajectory: Trajectory
    ) -> SteeringContext:
        """As a vehicle flew a plan; of an unfinished flight, as far as it went."""
        arcs = sequence_of(vehicle, mission, plan).arcs[: len(trajectory.arcs)]
        mass = float(trajectory.arcs[0].states[0, 6])
        burning = [
            _burning(vehicle, arc, flown) for arc, flown in zip(arcs, trajectory.arcs, strict=False)
        ]
        return cls(
            notes=tuple(context_lines(vehicle, mission, plan, mass)),
            burning=tuple(map(" + ".join, burning)),
            events=tuple(_events(arcs, trajectory.arcs, burning)),
        )


def _burning(vehicle: Vehicle, arc: FlightArc, flown: TrajectoryArc) -> list[str]:
    """Names of the stage, where it burns, and of the boosters beside it."""
    core = [vehicle.stages[arc.stage].name] if arc.burning and arc.parameters.thrust > 0.0 else []
    middle = 0.5 * float(flown.times[0] + flown.times[-1])
    beside: Sequence[BoosterGroup] = vehicle.boosters if arc.burning and arc.stage == 0 else ()
    return core + [one.name for one in beside if one.ignition_time < middle < one.burn_out_time]


def _events(
    arcs: Sequence[FlightArc], flown: Sequence[TrajectoryArc], burning: Sequence[list[str]]
) -> Iterator[SteeringEvent]:
    """Joints as the event table calls them, and each start and end of a burn beside them."""
    mass = float(flown[0].states[0, 6])
    began = float(flown[0].times[0])
    for name in (_LIFT_OFF, *(f"{one} ignition" for one in burning[0])):
        yield SteeringEvent(
            arc=arcs[0].name, name=name, time=began, mass_before=mass, mass_after=mass
        )
    for k, (arc, own) in enumerate(zip(arcs, flown, strict=False)):
        following = burning[k + 1] if k + 1 < len(arcs) else []
        before = float(own.states[-1, 6])
        after = arc.joint.mass(before)
        ends = [f"{one} cut-off" for one in burning[k] if one not in following]
        starts = [f"{one} ignition" for one in following if one not in burning[k]]
        told = [(name, before, before) for name in ends if name != arc.joint.event]
        told.append((arc.joint.event, before, after))
        also = [] if arc.joint.also is None else [arc.joint.also]
        told += [(name, after, after) for name in (*also, *starts) if name != arc.joint.event]
        for name, heavy, light in told:
            yield SteeringEvent(
                arc=arc.name, name=name, time=float(own.times[-1]),
                mass_before=heavy, mass_after=light,
            )  # fmt: skip
