"""How a rule of thumb enters the orbit once it is above the dense air."""

from __future__ import annotations

from abc import ABC, abstractmethod
from collections.abc import Iterable
from math import hypot
from typing import NamedTuple

from ascentopt.flight.compiled.checkpoint import Checkpoint
from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.rocket import SolidMotor, Stage, Vehicle
from ascentopt.rules.insertion.feasibility_margin import FeasibilityMargin
from ascentopt.steering.programme import Phase, Programme

Unknowns = tuple[float, ...]


class Arrival(NamedTuple):
    """Where an insertion ends: at an apsis of this radius in m, level, with this speed in m/s."""

    radius: float
    speed: float


ANYWHERE = Arrival(radius=1.0, speed=1.0)
"""For what does not depend on where it ends, as what a vehicle lacks."""


class Insertion(ABC):
    """Three numbers by which the end of a flight is brought into the orbit at an apsis.

    From the arc that `begins` on, the unknowns say how the `law` steers and when it cuts off; they
    are found by a secant method from `guess`, for each flight of a rule, so that radius, climb and
    level speed are those of the `Arrival`. One of one's own has a `name`, a `plan`, a `law`, a
    `guess` and `sizes`, and may say more: what it `lacks`, where it `begins`, its `rooms`, and
    other `ways` among which the flight chooses. `ascentopt.rules` shows one. Units are SI; `sizes`
    makes unknowns of any unit comparable. Where there is no way from a flight to the arrival,
    `guess` raises a `CompiledFlightError` whose kind (`TooHigh`, `TooFlat`) tells tuning on which
    side it lies. It is hashable: a frozen dataclass.
    """

    @property
    @abstractmethod
    def name(self) -> str:
        """As the trade calls it."""

    def ways(self, vehicle: Vehicle, arrival: Arrival) -> tuple[Insertion, ...]:
        """Insertions by one plan each, of which the flight decides; the usual one first."""
        return (self,)

    def starts_in(self, vehicle: Vehicle) -> int:
        """Index of the stage that burns as the apoapsis reaches the orbit."""
        return len(vehicle.stages) - 1

    def mends(self, failure: CompiledFlightError | None) -> bool:
        """Whether it may fly where a way before it failed so; None = where none was tried."""
        return True

    @property
    def rivals(self) -> bool:
        """Whether it may cost less than a way before it that flies."""
        return False

    def mends_any(self, failures: Iterable[CompiledFlightError]) -> bool:
        """Whether it may fly after these failures; where there are none, whether it comes first."""
        told = list(failures)
        return any(self.mends(one) for one in told) if told else self.mends(None)

    def remark(self, vehicle: Vehicle) -> str:
        """What a person must know who flies it; empty where the name says it."""
        return ""

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """What the vehicle lacks for it; empty when it lacks nothing."""
        return ""

    @abstractmethod
    def plan(self, vehicle: Vehicle, fairing_arc: str | None) -> FlightPlan:
        """The burns and coasts."""

    def begins(self, sequence: Sequence) -> int:
        """Index of the first arc on which the unknowns act.

        By default the burn before the last coast of free length, or else the last stage's first.
        """
        arcs = sequence.arcs
        coasts = [k for k, arc in enumerate(arcs) if arc.free_coast]
        if coasts:
            return max(k for k in range(coasts[-1]) if arcs[k].burning)
        return min(k for k, a in enumerate(arcs) if a.stage == arcs[-1].stage and a.burning)

    @abstractmethod
    def law(
        self, plan: FlightPlan, sequence: Sequence, steps: tuple[Phase, ...], unknowns: Unknowns
    ) -> Programme:
        """Steering through the air by `steps`, then into the orbit."""

    @abstractmethod
    def guess(self, flight: CompiledFlight, mark: Checkpoint, arrival: Arrival) -> Unknowns:
        """Unknowns to start from; `mark` is where they begin to act.

        Raises:
            CompiledFlightError: when there is no way to the arrival from there.
        """

    def rooms(
        self, flight: CompiledFlight, marks: tuple[Checkpoint, ...], unknowns: Unknowns
    ) -> tuple[FeasibilityMargin, ...]:
        """What is left until the unknowns cannot be flown; by default nothing is known.

        `marks` are where the unknowns begin to act and the ends of the arcs from `begins` on.
        """
        return ()

    @abstractmethod
    def sizes(self, radius: float, speed: float) -> Unknowns:
        """Changes of the unknowns that matter about equally; radius and speed of the orbit."""


def burns_out(*stages: Stage) -> str:
    """Which of some stages cannot be shut down, and why; empty where all can."""
    solid = next((stage for stage in stages if isinstance(stage.engine, SolidMotor)), None)
    return f"stage {solid.name!r} has a solid motor that cannot be shut down" if solid else ""


def common_lack(
    ways: Iterable[Insertion], vehicle: Vehicle, mission: Mission, *, told: int = 0
) -> str:
    """What ways lack where all of them lack something: what one of them does; else empty."""
    lacks = [way.lacks(vehicle, mission) for way in ways]
    return lacks[told] if all(lacks) else ""


def level_speed_at(radius: float, mark: Checkpoint) -> float:
    """Speed in m/s across the radius that a coast from a mark has left at a radius."""
    x, y, z, u, v, w = mark.state[:6].tolist()
    return hypot(y * w - z * v, z * u - x * w, x * v - y * u) / radius


def burn_margin(flight: CompiledFlight, mark: Checkpoint, seconds: float) -> FeasibilityMargin:
    """For a last burn that may not end before it begins."""
    push = flight.sequence.arcs[-1].parameters.thrust / mark.mass
    why = "its last burn would end before it begins"
    return FeasibilityMargin(left=seconds, miss_per_unit=(0.0, 0.0, -push), why=why)
