"""An insertion as a user writes it, with nothing but the public face and NumPy."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.tune.tuning import tune
from tests.rules.cases import KICK, SMALL_PLANET
from tests.rules.ones_own import HeldPitch

CASE = SMALL_PLANET[0]


def flight(insertion: ao.Insertion) -> RuleFlight:
    return RuleFlight(
        vehicle=CASE.vehicle, mission=CASE.mission, rule=KICK, insertion=insertion
    )


def test_it_ends_in_the_orbit_at_the_pitch_that_was_found() -> None:
    closed = flight(HeldPitch()).fly(CASE.values)
    flown = ao.fly(CASE.vehicle, CASE.mission, closed.law)
    assert flown.verdict is not None
    assert flown.verdict.as_asked
    burn = flown.trajectory.arcs[-1]
    tangent = float(closed.unknowns[1])
    assert burn.readings.shape[0] > 3
    for time in np.linspace(burn.times[0] + 0.1, burn.times[-1] - 0.1, 5):
        assert np.tan(float(flown.trajectory.at(time).pitch)) == pytest.approx(tangent, abs=1e-4)


def test_tuned_it_costs_what_a_level_burn_does() -> None:
    held, level = (tune(flight(way)).best for way in (HeldPitch(), ao.Circularise()))
    assert held is not None
    assert level is not None
    assert held.propellant_used == pytest.approx(level.propellant_used, rel=2e-4)


def test_what_the_vehicle_lacks_is_said() -> None:
    *lower, last = CASE.vehicle.stages
    once = replace(CASE.vehicle, stages=(*lower, replace(last, restarts=0)))
    one = replace(flight(HeldPitch()), vehicle=once)
    assert one.ways == ()
    assert "cannot be lit again" in one.insertion.lacks(once, CASE.mission)


@dataclass(frozen=True)
class TwoNumbers(HeldPitch):
    """It guesses two unknowns only."""

    def guess(self, flight: Any, mark: Any, arrival: ao.Arrival) -> tuple[float, ...]:
        return super().guess(flight, mark, arrival)[:2]


@dataclass(frozen=True)
class NotANumber(HeldPitch):
    """It guesses what is no number."""

    def guess(self, flight: Any, mark: Any, arrival: ao.Arrival) -> tuple[float, ...]:
        return arrival.radius, float("nan"), 1.0


@pytest.mark.parametrize("kind", [TwoNumbers, NotANumber])
def test_a_guess_that_is_not_three_numbers_is_refused(kind: type[HeldPitch]) -> None:
    with pytest.raises(ao.InputError, match=r"guess returned .* must be three finite numbers"):
        flight(kind()).fly(CASE.values)


def test_a_direction_by_numpy_is_that_by_casadi() -> None:
    import casadi as ca

    @dataclass(frozen=True)
    class ByNumpy(ao.Rule):
        name = "by numpy"
        open = (ao.Open(name="height", unit="m", low=1e4, high=6e5),)

        def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
            lean = 0.5 * np.pi * np.sqrt(np.fmin(view.altitude / numbers[0], 1.0) + 1e-12)
            found = view.leaned(lean)
            return np.array([found[0], found[1], found[2]])

    @dataclass(frozen=True)
    class ByCasadi(ao.Rule):
        name = "by casadi"
        open = ByNumpy.open

        def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
            lean = 0.5 * np.pi * ca.sqrt(ca.fmin(view.altitude / numbers[0], 1.0) + 1e-12)
            return view.leaned(lean)

    one, other = (
        replace(flight(ao.Circularise()), rule=rule()).fly((4e4,)) for rule in (ByNumpy, ByCasadi)
    )
    assert one.propellant_used == pytest.approx(other.propellant_used, abs=1e-3)
