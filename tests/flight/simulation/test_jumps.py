"""A command that jumps is flown to the last gram."""

from __future__ import annotations

from dataclasses import replace

import pytest

from ascentopt.flight.guidance.ending import AfterDuration
from ascentopt.flight.guidance.law import Command
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.simulation.simulate import fly
from ascentopt.mission import FlightLimits
from ascentopt.units import STANDARD_GRAVITY, deg, kN
from tests.flight.rockets import Leaning, mission, plain

JUMPS = (7.3, 19.1, 33.7)  # s into the upper stage's burn, none of them a binary fraction
SHARES = (1.0, 0.5, 0.9, 0.6)
PLAN = FlightPlan(inserting_stage=1)


class Stepped(Leaning):
    """Throttles in steps, and says when."""

    def command(self, now: Moment) -> Command:
        share = SHARES[sum(now.elapsed >= jump for jump in JUMPS)]
        usual = super().command(now)
        return usual._replace(throttle=share) if now.arc.name == "upper" else usual

    def breaks(self, arc: FlightArc) -> tuple[float, ...]:
        return JUMPS if arc.name == "upper" else ()


def test_the_mass_burned_is_the_sum_of_the_steps() -> None:
    asked = replace(mission(), limits=FlightLimits(axial_acceleration=500.0))
    law = Stepped(PLAN, {"upper": AfterDuration(50.0)}, rate=0.3 * deg)
    names = sequence_of(plain(), asked, PLAN).names
    arc = fly(plain(), asked, law).trajectory.arcs[names.index("upper")]
    flow = 60 * kN / (345.0 * STANDARD_GRAVITY)
    edges = (0.0, *JUMPS, 50.0)
    steps = zip(SHARES, edges, edges[1:], strict=False)
    burned = flow * sum(share * (end - begin) for share, begin, end in steps)
    assert arc.states[0, 6] - arc.states[-1, 6] == pytest.approx(burned, abs=1e-6)
    # Each jump stands twice, once with either side of it.
    for jump, before, after in zip(JUMPS, SHARES, SHARES[1:], strict=False):
        there = abs(arc.times - arc.times[0] - jump) < 1e-9
        assert arc.throttle[there].tolist() == [before, after]
