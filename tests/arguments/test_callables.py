"""What a user wrote and what fails in it, or answers with nonsense, is named, its cause kept."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from time import process_time
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.guidance.law import Command, SteeringLaw
from tests.arguments.face import blank

SCENARIO = ao.scenarios()["earth-small"]
VEHICLE, MISSION = SCENARIO.vehicle, SCENARIO.mission
PLAN = ao.FlightPlan(inserting_stage=len(VEHICLE.stages) - 1)
ENDINGS = ((VEHICLE.stages[-1].name, ao.AtEmpty()),)


class Mine(Exception):
    """Of the user's own."""


def fails(*given: object) -> Any:
    raise Mine("the sensor is off")


# Each with the beginning of the text that names it.
NONSENSE: list[Any] = [
    None, float("nan"), "up", (1.0, 2.0), [[1.0, 0.0, 0.0]], (0.0, 0.0, 0.0), (1j, 0.0, 0.0),
    np.full(3, np.nan), np.array([1j, 0.0, 0.0]), {}, object, [None, 0.0, 1.0], (1e400, 0.0, 0.0),
]  # fmt: skip


def fly(law: Any) -> ao.Flight:
    return ao.fly(VEHICLE, MISSION, law)


def steering(direction: Callable[..., Any]) -> ao.CallableSteering:
    return ao.CallableSteering(plan=PLAN, direction=direction, endings=ENDINGS)


def begin(rule: ao.Rule) -> ao.Comparison:
    """As far as the rule's first words: an ascent that nobody filled in goes no further."""
    catalogue = ao.Catalogue(rules=(rule,), insertions=(ao.LinearTangentInsertion(),))
    return ao.compare(VEHICLE, MISSION, ascent=blank(ao.Ascent), catalogue=catalogue)


def rule(function: Callable[..., Any]) -> ao.CallableRule:
    lean = ao.Open(name="lean", unit="rad", low=0.01, high=0.3)
    return ao.CallableRule(name="mine", open=(lean,), function=function)


class Law(SteeringLaw):
    """A law of the user's own."""

    def __init__(self, answer: Callable[..., Any], ending: ao.Ending | None = None) -> None:
        self.plan, self.answer, self.end = PLAN, answer, ending or ao.AtEmpty()

    def command(self, now: ao.Moment) -> Command:
        answer: Command = self.answer(now)
        return answer

    def ending(self, arc: Any) -> ao.Ending | None:
        return self.end if arc.name == VEHICLE.stages[-1].name else None


@dataclass(frozen=True)
class End(ao.Ending):
    """An ending of the user's own."""

    answer: Callable[..., Any]

    def value(self, now: ao.Moment) -> float:
        answer: float = self.answer(now)
        return answer


@dataclass(frozen=True)
class Shape(ao.Formula):
    """A formula of the user's own."""

    answer: Callable[..., Any]

    @property
    def form(self) -> tuple[Any, ...]:
        return (self.answer,)

    @property
    def numbers(self) -> tuple[float, ...]:
        return ()

    def direction(self, view: ao.View, numbers: Any) -> Any:
        return self.answer(view, numbers)


def shaped(answer: Callable[..., Any]) -> ao.Programme:
    return ao.Programme(plan=PLAN, steps=(ao.Phase(formula=Shape(answer)),), endings=ENDINGS)


@dataclass(frozen=True)
class OwnRule(ao.Rule):
    """A rule of the user's own, failing where it is told to."""

    where: str
    name: str = "own"
    open: tuple[ao.Open, ...] = (ao.Open(name="lean", unit="rad", low=0.01, high=0.3),)

    def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
        return fails() if self.where == "direction" else view.leaned(numbers[0])

    def habitual(self, pad: ao.Pad) -> tuple[float, ...]:
        return fails() if self.where == "habitual" else super().habitual(pad)

    def steps(self, values: tuple[float, ...], pad: ao.Pad) -> tuple[ao.Phase, ...]:
        return fails() if self.where == "steps" else super().steps(values, pad)


FAILING: dict[str, tuple[Callable[[], Any], str]] = {
    "steering": (lambda: fly(steering(fails)), "CallableSteering.*direction is <function fails"),
    "law": (lambda: fly(Law(fails)), "Law on arc .*command is <bound method"),
    "ending": (
        lambda: fly(Law(lambda now: Command(now.up), End(fails))),
        "ending End.*value is <bound",
    ),
    "formula": (lambda: fly(shaped(fails)), "formula Shape: direction is <bound method"),
    "function of a rule": (lambda: begin(rule(fails)), "rule 'mine'.*function is <function fails"),
    "direction of a rule": (lambda: begin(OwnRule("direction")), "rule 'own': direction is"),
    "habit of a rule": (lambda: begin(OwnRule("habitual")), "rule 'own': habitual is|nominal is"),
    "steps of a rule": (lambda: begin(OwnRule("steps")), "rule 'own': steps is"),
}


@pytest.mark.parametrize("name", FAILING)
def test_what_fails_is_named_and_its_cause_is_kept(name: str) -> None:
    run, text = FAILING[name]
    begun = process_time()
    with pytest.raises(ao.InputError, match=f"{text}.*which raised Mine: the sensor is off") as it:
        run()
    assert isinstance(it.value.__cause__, Mine)
    assert process_time() - begun < 5.0  # what is compiled first is not what is asked for here


ASKED: dict[str, Callable[[Any], Any]] = {
    "steering": lambda answer: fly(steering(lambda now: answer)),
    "rule": lambda answer: begin(rule(lambda now, numbers: answer)),
    "law": lambda answer: fly(Law(lambda now: (answer, 1.0))),
}


@pytest.mark.parametrize("answer", NONSENSE, ids=repr)
@pytest.mark.parametrize("kind", ASKED)
def test_an_answer_that_is_no_direction_is_refused(kind: str, answer: Any) -> None:
    with pytest.raises(ao.InputError, match=r"returned .*; it must be .*\. Return "):
        ASKED[kind](answer)


@pytest.mark.parametrize("answer", [None, "x", float("nan"), (1.0,)], ids=repr)
def test_an_ending_without_a_number_is_refused(answer: Any) -> None:
    with pytest.raises(ao.InputError, match=r"ending End.*value is .*must be a finite number"):
        fly(Law(lambda now: Command(now.up), End(lambda now: answer)))


@pytest.mark.parametrize("answer", [None, "x", 3.0, (1.0, 0.0, 0.0)], ids=repr)
def test_a_formula_without_an_expression_is_refused(answer: Any) -> None:
    with pytest.raises(ao.InputError, match=r"formula Shape: direction returned .*shape \(3, 1\)"):
        fly(shaped(lambda view, numbers: answer))


@pytest.mark.parametrize("answer", [None, 3.0, "full", (1, 2, 3)], ids=repr)
def test_what_is_no_command_is_refused(answer: Any) -> None:
    with pytest.raises(ao.InputError, match=r"command returned .*it must be a Command"):
        fly(Law(lambda now: answer))


def test_an_interrupt_in_a_users_function_goes_through() -> None:
    def stop(now: object) -> Any:
        raise KeyboardInterrupt

    with pytest.raises(KeyboardInterrupt):
        fly(steering(stop))


def test_a_refusal_of_ours_goes_through_as_it_is() -> None:
    def refuse(now: object) -> Any:
        raise ao.InputError("Wren: not so. Turn round.")

    with pytest.raises(ao.InputError, match=r"^Wren: not so"):
        fly(steering(refuse))


@pytest.mark.parametrize(
    ("names", "text"),
    [
        (("frist",), r"GravityTurn: endings has one for 'frist'; .*Did you mean 'first'\?"),
        (("nowhere",), r"endings has one for 'nowhere'; it must be for an arc of the plan: 'ver"),
        (("second", "second"), r"endings has 2 for 'second'; there must be one for an arc"),
    ],
)
def test_endings_of_no_arc_or_two_of_one_are_refused(names: tuple[str, ...], text: str) -> None:
    law = ao.GravityTurn(
        plan=PLAN, kick=None, endings=tuple((name, ao.AtEmpty()) for name in names)
    )
    with pytest.raises(ao.InputError, match=text):
        fly(law)


def test_a_progress_that_fails_is_named_by_its_study() -> None:
    text = "optimize: progress is <function fails.*which raised Mine: the sensor is off"
    with pytest.raises(ao.InputError, match=text) as it:
        ao.optimize(VEHICLE, MISSION, progress=fails)
    assert isinstance(it.value.__cause__, Mine)
