"""How exact a simulated flight is: against itself with a hundred times tighter steps."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.simulation.simulate import simulate
from ascentopt.rocket import Vehicle
from ascentopt.world import Body, earth
from tests.flight.rockets import Leaning, boosted, mission, plain

PLAN = FlightPlan(inserting_stage=1)
AIRLESS = replace(earth(), atmosphere=None)


@pytest.mark.parametrize(
    ("vehicle", "body", "metres"),
    [
        # The knots of the air and of the drag curve are passed at no known time.
        pytest.param(plain(), earth(), 3e-3, id="tables of air and drag"),
        # Those of a thrust curve are: the integrator steps on them.
        pytest.param(boosted(), AIRLESS, 2e-5, id="thrust curves"),
        pytest.param(plain(), AIRLESS, 5e-6, id="nothing but gravity and thrust"),
    ],
)
def test_a_flight_to_orbital_heights(vehicle: Vehicle, body: Body, metres: float) -> None:
    sequence = sequence_of(vehicle, mission(body), PLAN)
    law = Leaning(PLAN, {"upper": AfterDuration(100.0)}, heading=1.2)
    usual = simulate(sequence, law).final_state
    miss = usual - simulate(sequence, law, relative_tolerance=1e-13).final_state
    assert np.linalg.norm(miss[:3]) < metres
    assert np.linalg.norm(miss[3:6]) < metres / 100.0
