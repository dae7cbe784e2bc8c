"""A solid motor lit at a free instant: its thrust curve goes on through the fairing's drop."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from scipy.integrate import solve_ivp

import ascentopt as ao
from ascentopt.flight.dynamics.numeric_rates import MotionRates
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.typing import Floats
from tests.flight.rockets import mission, plain, solid_first


def _coasting_to_a_solid() -> tuple[ao.Vehicle, FlightPlan]:
    """A solid second stage that is lit after a free coast, and drops the fairing as it burns."""
    solid = replace(solid_first().stages[0], name="solid")
    last = replace(plain().stages[1], name="last")
    vehicle = replace(plain(), stages=(plain().stages[0], solid, last))
    return vehicle, FlightPlan(inserting_stage=2, coast_before=(1,), fairing_arc="solid")


def test_a_solid_motor_lit_at_a_free_instant_goes_on_by_what_it_has_burned() -> None:
    vehicle, plan = _coasting_to_a_solid()
    sequence = sequence_of(vehicle, mission(), plan)
    before, after = (arc for arc in sequence.arcs if arc.name.startswith("solid"))
    assert before.kind.core_clock_starts
    assert after.kind.core_by_mass
    lit = vehicle.mass_above(0) - vehicle.fairing_mass
    assert after.parameters.core_ignition == pytest.approx(lit)


@pytest.mark.parametrize("share", [0.02, 0.3, 0.97])
def test_both_pieces_of_it_burn_what_the_motor_holds(share: float) -> None:
    """Flown one after the other, whenever the fairing goes; mass rates do not ask for a state."""
    vehicle, plan = _coasting_to_a_solid()
    motor, pad = vehicle.stages[1].engine, sequence_of(vehicle, mission(), plan)
    assert isinstance(motor, ao.SolidMotor)
    mass, spent = vehicle.mass_above(0), share * motor.burn_time
    stretches = ((0.0, spent, 0.0), (spent, motor.burn_time, vehicle.fairing_mass))
    pieces = [arc for arc in pad.arcs if arc.name.startswith("solid")]
    for arc, (start, end, dropped) in zip(pieces, stretches, strict=True):
        rates, state = (
            MotionRates(arc.kind, arc.numbers),
            np.array([*pad.position, *pad.velocity, 0.0]),
        )

        def flow(time: float, now: Floats, rates=rates, state=state, start=start) -> list[float]:  # type: ignore[no-untyped-def]
            state[6] = now[0]
            return [float(rates((1e3 + time, time - start), state, (1.0, 0.0, 0.0), 1.0)[6])]

        burn = solve_ivp(flow, (start, end), [mass - dropped], rtol=1e-10, atol=1e-8, max_step=0.5)
        mass = float(burn.y[0, -1])
    empty = vehicle.mass_above(0) - vehicle.fairing_mass - motor.propellant_mass
    assert mass == pytest.approx(empty, abs=1e-3)
