"""Rules of a user's own: flown and tuned like ours, as expressions and as plain functions."""

from __future__ import annotations

from dataclasses import dataclass, replace
from itertools import product

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.tune.merit import cost_of
from ascentopt.rules.tune.scale import Scale
from ascentopt.rules.tune.tuning import tune
from ascentopt.scenarios import scenarios
from ascentopt.typing import Expr
from ascentopt.units import deg, km
from tests.rules.own_rules import HEIGHT, ROOT, ROOT_CALLED, PowerLean, RootLean, root_lean

SCENARIOS = scenarios()
CIRCLE, TANGENT = ao.Circularise(), ao.LinearTangentInsertion()


def flight(name: str, rule: ao.Rule, insertion: ao.Insertion = CIRCLE) -> RuleFlight:
    one = SCENARIOS[name]
    return RuleFlight(vehicle=one.vehicle, mission=one.mission, rule=rule, insertion=insertion)


def tuned(flight: RuleFlight) -> ClosedRuleFlight:
    best = tune(flight).best
    assert best is not None
    return best


@pytest.mark.parametrize(
    ("count", "insertion"),
    [
        *product([1, 2, 3], [CIRCLE, TANGENT]),
        *(pytest.param(*one, marks=pytest.mark.slow) for one in product([4, 5], [CIRCLE, TANGENT])),
    ],
)
def test_every_number_is_tuned(count: int, insertion: ao.Insertion) -> None:
    own = flight("marble-thick-air", PowerLean(count), insertion)
    best = tuned(own)
    scale, least = Scale(own.rule.open), cost_of(own, best)
    # A thirtieth of a height, or of a range of 3 rad. A hundred grams of ten tonnes are what is
    # not looked for.
    dearer = [
        cost_beside(own, best, scale, number, step) - least
        for number in range(count)
        for step in (-0.03, 0.03)
    ]
    assert min(dearer) > -1e-5 * least
    assert max(dearer) > 1e-5 * least


def cost_beside(
    own: RuleFlight, best: ClosedRuleFlight, scale: Scale, number: int, step: float
) -> float:
    place = [p + step * (k == number) for k, p in enumerate(scale.place(best.values))]
    if not scale.holds(tuple(place)):
        return np.inf
    try:
        return cost_of(own, own.fly(scale.values(tuple(place)), best))
    except CompiledFlightError:
        return np.inf


def test_more_numbers_cost_less() -> None:
    costs = [
        cost_of(own, tuned(own))
        for count in (1, 2, 3)
        for own in [flight("marble-thick-air", PowerLean(count))]
    ]
    assert costs[0] > costs[1] + 50.0
    assert costs[2] < costs[1] + 1.0


# With a restart; with an engine that throttles for a limit; towards an inclination; with a thrust
# curve; without air, where there is no vertical rise and rounding puts the pad below the ground.
ALIKE = ("earth-small", "earth-large-slow", "earth-inclined", "earth-solid-first", "moon-brisk")


@pytest.mark.parametrize("name", ALIKE)
def test_a_function_flies_as_the_expression_does(name: str) -> None:
    # Straight from ignition: where on the orbit a coast ends hangs on how exactly it is closed.
    (own,), (other,) = (flight(name, rule, TANGENT).usual for rule in (ROOT, ROOT_CALLED))
    closed, called = tuned(own), tuned(other)
    assert called.values == pytest.approx(closed.values, rel=1e-4)
    same = other.fly(closed.values)
    assert np.linalg.norm(same.end.state[:3] - closed.end.state[:3]) < 1.0
    assert same.propellant_used == pytest.approx(closed.propellant_used, rel=1e-7)
    assert same.end.peaks == pytest.approx(closed.end.peaks, rel=1e-3)
    one = SCENARIOS[name]
    flown = [ao.fly(one.vehicle, one.mission, law).final_state for law in (closed.law, same.law)]
    assert np.linalg.norm(flown[0][:3] - flown[1][:3]) < 1.0
    assert np.linalg.norm(flown[1][:3] - same.end.state[:3]) < 1.0


def test_a_function_that_jumps_is_flown() -> None:
    def late(now: ao.HeadedMoment, numbers: tuple[float, ...]) -> np.ndarray:
        return now.up if now.air_speed < 40.0 else root_lean(now, numbers)

    rule = ao.CallableRule(name="root lean from 40 m/s", open=(HEIGHT,), function=late)
    own = flight("marble-thick-air", rule, TANGENT)
    closed = own.fly((90 * km,))
    flown = ao.fly(own.vehicle, own.mission, closed.law)
    assert np.linalg.norm(flown.final_state[:3] - closed.end.state[:3]) < 5.0


@dataclass(frozen=True)
class Flatter(ao.Rule):
    """The root lean by the inverse of its height: more of it is flatter, as tuning expects."""

    name = "root lean by the inverse height"
    open = (ao.Open(name="inverse height", unit="", low=1.0 / 600.0, high=0.1),)

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        return ROOT.direction(view, (1.0 * km / numbers[0],))


@pytest.mark.parametrize("name", ["marble-thick-air", "mars-two-stages"])
def test_which_way_a_number_tips_does_not_matter(name: str) -> None:
    steeper, flatter = tuned(flight(name, ROOT)), tuned(flight(name, Flatter()))
    assert flatter.propellant_used == pytest.approx(steeper.propellant_used, rel=2e-4)
    assert 1.0 / flatter.values[0] == pytest.approx(steeper.values[0] / km, rel=0.02)


def test_a_fixed_number_is_flown_and_told() -> None:
    exponent = ao.Open(name="exponent", unit="", low=0.45, high=0.45)

    class Fixed(ao.Rule):
        name = "power lean with a fixed exponent"
        open = (exponent, HEIGHT)

        def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
            return PowerLean(2).direction(view, numbers)

    best = tuned(flight("marble-thick-air", Fixed()))
    assert best.values[0] == 0.45
    pairs = zip(Fixed.open, best.values, strict=True)
    told = [str(one.valued(value)) for one, value in pairs]
    assert told[0] == "exponent 0.45 (fixed)"
    assert "fixed" not in told[1]
    settled = replace(HEIGHT, low=best.values[1], high=best.values[1])
    all_fixed = ao.CallableRule(
        name="nothing open",
        open=(settled,),
        function=lambda now, numbers: now.leaned(
            0.5 * np.pi * min((now.altitude + 1.0) / numbers[0], 1.0) ** 0.45
        ),
    )
    again = tuned(flight("marble-thick-air", all_fixed))
    assert again.propellant_used == pytest.approx(best.propellant_used, abs=0.5)


def test_a_rule_may_go_through_phases() -> None:
    class Held(ao.Rule):
        """Up, over by an angle that is held to a speed, then along the motion."""

        name = "held lean"
        open = (
            ao.Open(name="end of the hold", unit="m/s", low=60.0, high=400.0, usual=120.0),
            ao.Open(name="lean", unit="rad", low=0.5 * deg, high=40 * deg, usual=8 * deg),
        )

        def steps(self, values: tuple[float, ...], pad: ao.Pad) -> tuple[ao.Phase, ...]:
            speed, lean = values
            held = ao.Lean(start=lean, heading=pad.heading)
            return (
                ao.Phase(formula=held, until=ao.AtAirSpeed(speed)),
                ao.Phase(formula=ao.AlongAirVelocity()),
            )

    own = flight("marble-thick-air", Held())
    best = tuned(own)
    assert own.rule.has_habit
    assert not ROOT.has_habit
    assert best.propellant_used < 9500.0  # a tuned kick takes 9459 kg there
    assert best.propellant_used > 9438.2  # the optimum


def test_rules_of_one_class_without_fields_are_equal() -> None:
    assert RootLean() == ROOT
    assert len({RootLean(), ROOT, PowerLean(2), PowerLean(2), PowerLean(3)}) == 3
