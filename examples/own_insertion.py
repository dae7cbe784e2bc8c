"""A way into the orbit of one's own: cut off, coast, then hold one pitch to the end.

As it is flown by hand: half of the last burn lies before the apoapsis, and the pitch is not touched
while it burns. Apoapsis at cut-off, pitch and length of the burn are found for each flight. Run it
with a directory for its file as the argument; by default it goes to ``out``. Preliminary analysis
only: real launches are for licensed practice and range safety to decide.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao


@dataclass(frozen=True)
class HeldPitch(ao.Insertion):
    """The unknowns: apoapsis at cut-off (m), tangent of the pitch, seconds of the last burn."""

    name = "one pitch around the apoapsis"

    def lacks(self, vehicle: ao.Vehicle, mission: ao.Mission) -> str:
        """A restart."""
        last = vehicle.stages[-1]
        return "" if last.restarts else f"stage {last.name!r} cannot be lit again"

    def plan(self, vehicle: ao.Vehicle, fairing_arc: str | None) -> ao.FlightPlan:
        """The last stage burns, coasts, burns."""
        last = len(vehicle.stages) - 1
        return ao.FlightPlan(inserting_stage=last, restarts=1, fairing_arc=fairing_arc)

    def law(
        self, plan: ao.FlightPlan, sequence: Any, steps: tuple[ao.Phase, ...], unknowns: Any
    ) -> ao.Programme:
        """Cut-off by apoapsis, coast, one pitch by the clock."""
        apoapsis, tangent, seconds = unknowns
        cut, coast, last = sequence.arcs[-3:]
        return ao.Programme(
            plan=plan,
            steps=steps,
            by_arc=((last.name, ao.LinearTangent(start=tangent, rate=0.0)),),
            endings=(
                (cut.name, ao.AtApoapsisRadius(apoapsis)),
                (coast.name, ao.AtNextApoapsis(0.5 * seconds)),
                (last.name, ao.AfterDuration(max(seconds, 0.0))),
            ),
        )

    def guess(self, flight: Any, mark: Any, arrival: ao.Arrival) -> tuple[float, ...]:
        """The impulse at the apoapsis, spread over a level burn."""
        cut = flight.fly_arc(mark)
        across = np.linalg.norm(np.cross(cut.state[:3], cut.state[3:6])) / arrival.radius
        seconds = flight.sequence.arcs[-1].seconds_to_gain(cut.mass, arrival.speed - across)
        return arrival.radius, 0.0, seconds

    def sizes(self, radius: float, speed: float) -> tuple[float, ...]:
        """A thousandth of the radius, six degrees, a second."""
        return 1e-3 * radius, 0.1, 1.0


def main(directory: Path) -> None:
    """Tune the kick with it and with ours on a small planet; save, load and fly it again."""
    directory.mkdir(parents=True, exist_ok=True)
    scenario = ao.scenarios()["marble-thick-air"]
    ways = ao.Catalogue(rules=(ao.KickRule(),), insertions=(HeldPitch(), ao.Circularise()))
    found = ao.compare(scenario.vehicle, scenario.mission, catalogue=ways)
    print(found)
    found.save(directory / "own_insertion.json")

    loaded = ao.Comparison.load(directory / "own_insertion.json")
    assert str(loaded) == str(found)
    held, level = (
        next(one for one in loaded.outcomes if one.tuned and one.insertion == name)
        for name in (HeldPitch.name, ao.Circularise().name)
    )
    assert held.law is not None
    flown = ao.fly(scenario.vehicle, scenario.mission, held.law)
    assert flown.verdict is not None
    assert flown.verdict.as_asked, flown.verdict

    # Found by this program on 2026-11-30; nothing published.
    assert held.penalty is not None
    assert level.penalty is not None
    assert abs(held.penalty - level.penalty) < 5.0, (held.penalty, level.penalty)
    assert not held.broken
    assert all(not one.fixed and not one.at_bound for one in held.parameters)


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
