"""The insertions that people name: each chooses its plan by the flight."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.mission import Mission
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rules.insertion.coast_and_burn import CoastAndBurn
from ascentopt.rules.insertion.coast_and_tangent import CoastAndTangent
from ascentopt.rules.insertion.insertion import ANYWHERE, Arrival, Insertion, common_lack
from ascentopt.rules.insertion.tangent import TangentFromApoapsis, TangentFromIgnition


@checked
@dataclass(frozen=True, kw_only=True)
class Circularise(CoastAndBurn):
    """Cut off whichever engine burns when the apoapsis reaches the orbit, coast, burn level there.

    The stage that was cut off is lit again where it can be (`Stage.restarts`), and the next one
    follows it; otherwise it is dropped, and the next one is lit at the apoapsis for its first time.
    Where the burn takes longer than the coast lasts, it begins at once and is led by a linear
    tangent.
    """

    def ways(self, vehicle: Vehicle, arrival: Arrival) -> tuple[Insertion, ...]:
        """With the last stage, then with ever lower ones."""
        return tuple(_coasts(vehicle, arrival))

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """An engine that can be shut down, and one that can be lit after a coast."""
        coasts = (one for one in _coasts(vehicle, ANYWHERE) if one.mends(None))
        return common_lack(coasts, vehicle, mission)


@checked
@dataclass(frozen=True, kw_only=True)
class LinearTangentInsertion(TangentFromIgnition):
    """The last stage steers by a linear tangent: straight into the orbit, or after a coast.

    Straight from its ignition (of a stage alone, from where its apoapsis reaches the orbit); or cut
    off where the apoapsis reaches the orbit, and lit again around it. Where a lower stage already
    throws the apoapsis there it is that one that is cut off, to be lit again or dropped. Tuning
    takes what costs less. Where the burn takes longer than the coast lasts, it begins at once.
    """

    def ways(self, vehicle: Vehicle, arrival: Arrival) -> tuple[Insertion, ...]:
        """From its ignition, then from where lower stages are cut off."""
        return tuple(_tangents(vehicle, arrival))

    def lacks(self, vehicle: Vehicle, mission: Mission) -> str:
        """An engine that can be shut down."""
        return common_lack(_tangents(vehicle, ANYWHERE), vehicle, mission, told=-1)


def _coasts(vehicle: Vehicle, arrival: Arrival) -> Iterator[Insertion]:
    yield CoastAndBurn()
    yield TangentFromApoapsis(radius=arrival.radius, instead=True)
    yield from _cut_off_below(vehicle, arrival, CoastAndBurn)


def _tangents(vehicle: Vehicle, arrival: Arrival) -> Iterator[Insertion]:
    if len(vehicle.stages) == 1:
        yield TangentFromApoapsis(radius=arrival.radius)
        yield CoastAndTangent()
        return
    yield TangentFromIgnition()
    yield CoastAndTangent()
    yield from _cut_off_below(vehicle, arrival, CoastAndTangent)


def _cut_off_below(
    vehicle: Vehicle, arrival: Arrival, way: type[CoastAndBurn]
) -> Iterator[Insertion]:
    """A way of coasting from the cut-off of each lower stage that has one, the highest first."""
    last = len(vehicle.stages) - 1
    for cut in reversed(range(last)):
        stage = vehicle.stages[cut]
        if isinstance(stage.engine, SolidMotor):
            continue
        again = stage.restarts > 0
        yield way(cut=cut, again=again)
        for by in reversed(range(cut if again else cut + 1, last)):
            yield way(cut=cut, again=again, by=by)
        yield TangentFromApoapsis(radius=arrival.radius, cut=cut, instead=True)
