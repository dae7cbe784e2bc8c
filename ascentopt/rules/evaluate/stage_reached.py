"""What a rule's flight comes to before any insertion, when every stage burns all it has."""

from __future__ import annotations

from math import hypot

from ascentopt.flight.compiled.compiled_flight import CompiledFlight
from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.plan import FlightPlan
from ascentopt.rules.laws.rule import Pad
from ascentopt.steering.programme import Phase, Programme
from ascentopt.steering.throttling import within
from ascentopt.world.orbital_elements import apoapsis_radius


def stage_reached(pad: Pad, steps: tuple[Phase, ...], radius: float) -> int:
    """Its index: the first with which the apoapsis is beyond a radius in m, or else the last.

    Raises:
        CompiledFlightError: when the flight falls before the last stage is lit.
    """
    flight, arcs = _unended(pad, steps), pad.sequence.arcs
    mark, mu = flight.start(), pad.mission.body.gravitational_parameter
    for arc in arcs:
        if arc.stage == arcs[-1].stage:
            break
        mark = flight.fly_arc(mark)
        if apoapsis_radius(mu, mark.state[:3], mark.state[3:6]) > radius:
            return arc.stage
    return arcs[-1].stage


def speed_after_rise(pad: Pad, steps: tuple[Phase, ...]) -> float:
    """Speed in the air in m/s at which the vertical rise ends; zero without one."""
    flight, rises = _unended(pad, steps), [arc.rise is not None for arc in pad.sequence.arcs]
    if not any(rises):
        return 0.0
    end = flight.fly(flight.start(), rises.index(True))
    x, y, z = flight.surroundings.at(end.state)[9:12]
    return hypot(x, y, z)


def _unended(pad: Pad, steps: tuple[Phase, ...]) -> CompiledFlight:
    """The flight up to the last stage's last arc, which has no length."""
    arcs = pad.sequence.arcs
    law = Programme(
        plan=FlightPlan(inserting_stage=arcs[-1].stage),
        steps=steps,
        endings=((arcs[-1].name, AfterDuration(0.0)),),
        throttling=within(pad.mission.limits),
    )
    return CompiledFlight(pad.sequence, law)
