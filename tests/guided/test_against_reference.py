"""What deviations mean, and how exactly it is integrated: against the independent flight."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.simulation.simulate import simulate
from ascentopt.guided.deviations import AirDeviations, Deviations
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.flights.flying import Flying
from ascentopt.guided.guidance.prepared import Guidance
from ascentopt.guided.steps.aims import ArcTime
from ascentopt.typing import Floats
from tests.guided.flights import ascent

FACTORS = {"thrust": 1.02, "isp": 0.995, "drag": 1.07, "density": 1.1}
HEAVIER, LOADED, CARRIED = 30.0, -45.0, 6.0
WIND = 14.0, -9.0


def deviations() -> Deviations:
    """All at once, of the first stage."""
    none = Deviations.none(1, stages=2)
    return replace(
        none,
        thrust=np.array([[FACTORS["thrust"], 1.0]]),
        isp=np.array([[FACTORS["isp"], 1.0]]),
        dry_mass=np.array([[HEAVIER, 0.0]]),
        propellant=np.array([[LOADED, 0.0]]),
        payload=np.array([CARRIED]),
        drag=np.array([FACTORS["drag"]]),
        air=AirDeviations(
            altitude=np.array([0.0, 1e5]),
            density=np.full((1, 2), FACTORS["density"]),
            east=np.full((1, 2), WIND[0]),
            north=np.full((1, 2), WIND[1]),
        ),
    )


def described(optimum: ao.Ascent) -> tuple[ao.Vehicle, ao.Mission]:
    """The same deviations written into the descriptions."""
    first, *others = optimum.vehicle.stages
    engine = first.engine
    assert isinstance(engine, ao.Engine)
    stronger = ao.Engine(
        vacuum_thrust=FACTORS["thrust"] * engine.vacuum_thrust,
        vacuum_isp=FACTORS["isp"] * engine.vacuum_isp,
        exit_area=FACTORS["thrust"] * engine.effective_exit_area,
    )
    stage = replace(
        first,
        engine=stronger,
        dry_mass=first.dry_mass + HEAVIER,
        propellant_mass=first.propellant_mass + LOADED,
    )
    shape = optimum.vehicle.aerodynamics
    assert shape is not None
    curve = shape.drag_coefficient
    assert isinstance(curve, ao.DragCurve)
    more = ao.DragCurve(
        mach=curve.mach, cd=[FACTORS["drag"] * one for one in curve.cd]
    )
    vehicle = replace(
        optimum.vehicle,
        stages=(stage, *others),
        payload_mass=optimum.vehicle.payload_mass + CARRIED,
        # Forces are as the density at the same temperature, which is as the area.
        aerodynamics=replace(
            shape,
            drag_coefficient=more,
            reference_area=FACTORS["density"] * shape.reference_area,
        ),
    )
    body = optimum.mission.body
    assert body.atmosphere is not None
    air = replace(
        body.atmosphere,
        wind=ao.Wind(altitude=(0.0, 1e5), eastward=(WIND[0],) * 2, northward=(WIND[1],) * 2),
    )
    return vehicle, replace(optimum.mission, body=replace(body, atmosphere=air))


def reference(optimum: ao.Ascent, lengths: Floats) -> Floats:
    """(7,) state at the end of the first stage, by the table through arcs so long."""
    vehicle, mission = described(optimum)
    whole = sequence_of(vehicle, mission, optimum.plan)
    segments = [
        replace(one, duration=float(length))
        for one, length in zip(optimum.steering.segments, lengths, strict=False)
    ]
    law = replace(optimum.steering, segments=(*segments, *optimum.steering.segments[2:]))
    return simulate(replace(whole, arcs=whole.arcs[:2], spans=()), law).final_state


@pytest.mark.parametrize(
    "name", ["earth-small", pytest.param("earth-large-brisk", marks=pytest.mark.slow)]
)
def test_through_the_air_it_keeps_to_the_independent_flight(name: str) -> None:
    optimum = ascent(name)
    prepared = DispersedFlight.of(optimum, Guidance(abscissa=ArcTime())).prepared
    flying = Flying(prepared, deviations(), track=False)
    flying.plan = replace(prepared, legs=prepared.legs[1:])
    flying.fly(1)
    ends = flying.arc_ends[0]
    wanted = reference(optimum, np.array([ends[0], ends[1] - ends[0]]))
    got = flying.fleet.state[0]
    assert got[:3] == pytest.approx(wanted[:3], abs=3.0)
    assert got[3:6] == pytest.approx(wanted[3:6], abs=0.05)
    dropped = optimum.vehicle.stages[0].dry_mass + HEAVIER
    assert got[6] == pytest.approx(wanted[6] - dropped, abs=1e-3)


def test_the_burn_to_depletion_is_as_long_as_flow_and_load_say() -> None:
    optimum = ascent("earth-small")
    flight = DispersedFlight.of(optimum)
    found = flight.fly(deviations())
    stage = optimum.vehicle.stages[0]
    flow = stage.engine.mass_flow * FACTORS["thrust"] / FACTORS["isp"]
    assert found.arc_ends[0, 1] == pytest.approx((stage.propellant_mass + LOADED) / flow, abs=1e-6)
