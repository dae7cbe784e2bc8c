"""Rules and a way into the orbit as users write them, with the public face and NumPy alone.

The gallery has the same with its explanations: `examples/ex04_own_rule.py` and the two after it.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import pi
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import km


class PowerLean(ao.Rule):
    """Leans from the vertical by a quarter turn times (altitude / height) to a power."""

    name = "power lean"
    open = (
        ao.Open(name="power", unit="", low=0.2, high=1.5),
        ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
    )

    def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
        """Along the thrust."""
        power, height = numbers
        share = np.fmin(view.altitude / height, 1.0)
        return view.leaned(0.5 * pi * share**power)


LEAN = ao.CallableRule(
    name="power lean as a function",
    open=PowerLean.open,
    function=lambda state, numbers: state.leaned(
        0.5 * pi * min(state.altitude / numbers[1], 1.0) ** numbers[0]
    ),
)


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


