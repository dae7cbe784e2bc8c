"""What is no rule, and what steers nowhere, is refused before anything is flown."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import nan, pi

import casadi as ca
import numpy as np
import pytest

import ascentopt as ao
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.typing import Expr
from ascentopt.units import km
from tests.launchers import KNOT, LEDGE
from tests.rules.own_rules import HEIGHT, RootLean, root_lean


@pytest.mark.parametrize(
    ("make", "said"),
    [
        (lambda: ao.Open(name="height", unit="m", low=2.0, high=1.0), "low is 2.0 and high 1.0 m"),
        (lambda: ao.Open(name=" ", unit="m", low=1.0, high=2.0), "Open: name is ' '"),
        (lambda: ao.Open(name="height", unit="m", low=nan, high=2.0), "low is nan m"),
        (lambda: ao.Open(name="height", unit="m", low=1.0, high=2.0, usual=3.0), "usual is 3.0 m"),
        (lambda: ao.Open(name="height", unit=1.0, low=1.0, high=2.0), "unit is 1.0"),  # type: ignore[arg-type]
        (lambda: called(function=3), "function is 3; it must be callable"),
        (lambda: catalogue(RootLean), "Give an instance, with parentheses"),
        (lambda: catalogue(KNOT), "it must be of type Rule. Give a"),
        (lambda: catalogue(RootLean(), RootLean()), "no two of one name"),
        (lambda: ao.Catalogue(rules=()), "there must be one at least"),
        (lambda: catalogue(Nothing()), "Nothing: it has neither direction nor steps"),
        (lambda: catalogue(Nameless()), "Nameless: name is None"),
        (lambda: catalogue(Listed()), "open is .*; it must be a tuple of ao.Open"),
        (lambda: catalogue(called(open=())), "it has 0 open numbers; there must be 1 to 5"),
        (lambda: catalogue(called(open=numbered(6))), "it has 6 open numbers; there must be 1"),
        (lambda: catalogue(called(open=(HEIGHT, HEIGHT))), "no two may be called alike"),
        (lambda: catalogue(Mutable()), r"keeps height.*@dataclass\(frozen=True\)"),
        (lambda: catalogue(Unhashable(height=1.0)), "Unhashable: it cannot be hashed"),
        (
            lambda: ao.Catalogue(rules=(RootLean(),), insertions=(ao.Circularise,)),  # type: ignore[arg-type]
            "insertions is .*Circularise",
        ),
    ],
)
def test_what_is_no_rule_is_refused(make: Callable[[], object], said: str) -> None:
    with pytest.raises(ao.InputError, match=said):
        make()


@pytest.mark.parametrize(
    ("function", "said"),
    [
        (lambda now, numbers: (nan, 0.0, 1.0), r"returned \(nan, 0.0, 1.0\); it must be three fin"),
        (lambda now, numbers: (0.0, 0.0, 0.0), "not all zero"),
        (lambda now, numbers: (1.0, 0.0), r"returned \(1.0, 0.0\)"),
        (lambda now, numbers: 0.3, "returned 0.3"),
        (lambda now, numbers: None, "returned None"),
        (lambda now, numbers: [[1.0, 0.0], [0.0]], "returned"),
        (lambda now, numbers: "up", "returned 'up'"),
    ],
)
def test_a_function_that_gives_no_direction_is_refused_on_the_pad(
    function: Callable[[ao.HeadedMoment, tuple[float, ...]], object], said: str
) -> None:
    with pytest.raises(ao.InputError, match=f"rule 'called': with numbers .*{said}"):
        begin(called(function=function))


def test_one_that_gives_none_later_stops_everything() -> None:
    def failing(now: ao.HeadedMoment, numbers: tuple[float, ...]) -> np.ndarray:
        return root_lean(now, numbers) if now.altitude < 20 * km else np.full(3, nan)

    with pytest.raises(ao.InputError, match=r"rule 'called': .* m up, on arc 'lower"):
        flight(called(function=failing)).fly((60 * km,))


def test_an_expression_that_ends_is_named() -> None:
    with pytest.raises(ao.InputError, match=r"rule 'ends' with height where level 60 km: .* m up"):
        flight(Ends()).fly((60 * km,))


@pytest.mark.parametrize(
    ("rule", "said"),
    [
        ("Flat", r"rule 'flat': direction returned .*; it must be an expression of shape"),
        ("Endless", "rule 'endless': Programme: of its 1 steps"),
        ("Stepless", "rule 'stepless': steps returned None; it must be a tuple of ao.Phase"),
        ("Few", r"rule 'few': .* numbers are \(1.0, 2.0\); there must be as many as open ones, 1"),
        ("Negative", "rule 'negative': it begins with height where level -1.0 m; that must be pos"),
        ("NotFinite", "rule 'not finite': on the pad its direction is"),
    ],
)
def test_steering_that_cannot_begin_is_refused(rule: str, said: str) -> None:
    with pytest.raises(ao.InputError, match=said):
        begin(globals()[rule]())


def called(**given: object) -> ao.CallableRule:
    fields = {"name": "called", "open": (HEIGHT,), "function": root_lean, **given}
    return ao.CallableRule(**fields)  # type: ignore[arg-type]


def catalogue(*rules: object) -> ao.Catalogue:
    return ao.Catalogue(rules=rules)  # type: ignore[arg-type]


def numbered(count: int) -> tuple[ao.Open, ...]:
    return tuple(ao.Open(name=f"n{k}", unit="", low=-1.0, high=1.0) for k in range(count))


def flight(rule: ao.Rule) -> RuleFlight:
    return RuleFlight(vehicle=KNOT, mission=LEDGE, rule=rule, insertion=ao.LinearTangentInsertion())


def begin(rule: ao.Rule) -> None:
    flight(rule).check_begins()


class Nothing(ao.Rule):
    name = "nothing"
    open = (HEIGHT,)


class Nameless(ao.Rule):
    open = (HEIGHT,)

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        return view.up


class Up(Nameless):
    name = "up"


class Listed(Up):
    open = [HEIGHT]  # type: ignore[assignment]  # noqa: RUF012 - what a user may write


class Mutable(Up):
    def __init__(self) -> None:
        self.height = 1.0


@dataclass
class Unhashable(Up):
    height: float


class Flat(Up):
    name = "flat"

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        return ca.vertcat(1.0, view.altitude)


class Ends(Up):
    name = "ends"

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        share = view.altitude / (0.5 * numbers[0])  # above one from half the height on
        return view.leaned(0.3 * pi * (1.0 - ca.sqrt(1.0 - share)))


class NotFinite(Up):
    name = "not finite"

    def direction(self, view: ao.HeadedView, numbers: tuple[Expr, ...]) -> Expr:
        return view.leaned(ca.log(-numbers[0]))


class Endless(Up):
    name = "endless"

    def steps(self, values: tuple[float, ...], pad: ao.Pad) -> tuple[ao.Phase, ...]:
        return (ao.Phase(formula=ao.AlongAirVelocity(), until=ao.AtAirSpeed(values[0])),)


class Stepless(Up):
    name = "stepless"

    def steps(self, values: tuple[float, ...], pad: ao.Pad) -> tuple[ao.Phase, ...]:
        return None  # type: ignore[return-value]


class Negative(Up):
    name = "negative"

    def habitual(self, pad: ao.Pad) -> tuple[float, ...]:
        return (-1.0,)


class Few(Up):
    name = "few"

    def habitual(self, pad: ao.Pad) -> tuple[float, ...]:
        return 1.0, 2.0
