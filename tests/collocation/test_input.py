"""Descriptions that cannot be right are refused with thing, value, rule and fix."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace

import numpy as np
import pytest

from ascentopt.collocation import (
    Arc,
    ArcGuess,
    Bounds,
    Condition,
    Ends,
    Guess,
    Model,
    Objective,
    Point,
    Problem,
    Quantity,
    RadauMesh,
    Refinement,
    Solution,
    SolverSettings,
    Span,
    solve,
)
from ascentopt.errors import InputError
from ascentopt.typing import Expr
from tests.collocation import regulator
from tests.collocation.problems import FinalEntry, quantities, starts_at, straight_line

MESH = RadauMesh.uniform(intervals=2, degree=3)
NAN, INFINITY = float("nan"), float("inf")


def refusal(make: Callable[[], object]) -> str:
    with pytest.raises(InputError) as caught:
        make()
    return str(caught.value)


@pytest.mark.parametrize("scale", [0.0, -1.0, NAN, INFINITY])
def test_quantity_with_a_scale_that_is_no_size(scale: float) -> None:
    assert refusal(lambda: Quantity("h", "m", scale)) == (
        f"Quantity 'h': scale is {scale}; it must be positive and finite. Give the typical size of "
        "the quantity in its own unit."
    )


@pytest.mark.parametrize(
    "breaks", [(0.0, 0.5), (0.1, 0.5, 1.0), (0.0, 0.6, 0.6), (0.0, 1.2, 1.0), (0.0, NAN, 1.0)]
)
def test_mesh_with_breaks_out_of_order(breaks: tuple[float, ...]) -> None:
    assert refusal(lambda: RadauMesh(breaks=breaks, degrees=(3, 3))) == (
        f"RadauMesh: breaks {breaks} must increase from 0 to 1 and count one more than the 2 "
        "degrees. Give one degree for each interval between two breaks."
    )


@pytest.mark.parametrize("degree", [0, 31, -2, 2.5])
def test_mesh_with_a_degree_that_no_scheme_has(degree: int) -> None:
    assert refusal(lambda: RadauMesh(breaks=(0.0, 1.0), degrees=(degree,))) == (
        f"RadauMesh: degrees ({degree},) must each be a whole number in 1..30. Use more intervals "
        "instead of a higher degree."
    )


@pytest.mark.parametrize(
    ("low", "high"), [(2.0, 1.0), (NAN, 1.0), (0.0, NAN), (INFINITY, INFINITY)]
)
def test_bounds_the_wrong_way_round(low: float, high: float) -> None:
    assert refusal(lambda: Bounds(lower=(0.0, low), upper=(1.0, high))) == (
        f"Bounds: entry 1 has lower {low} above upper {high} (or a NaN, or an infinity on the "
        "wrong side). Swap or correct them."
    )


def test_bounds_of_two_lengths() -> None:
    assert refusal(lambda: Bounds(lower=(0.0,), upper=(1.0, 2.0))) == (
        "Bounds: 1 lower for 2 upper bounds. Give one of each for every entry."
    )


def run(**changes: object) -> Arc:
    arc = regulator.problem(MESH).arcs[0]
    return replace(arc, **changes)  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("label", "value", "given", "expected"),
    [
        ("parameters", (1.0,), 1, 0),
        ("state_bounds", Bounds.free(1), 1, 2),
        ("control_bounds", Bounds.free(3), 3, 1),
        ("path_bounds", Bounds.free(1), 1, 0),
        ("state_scales", (1.0, 1.0, 1.0), 3, 2),
    ],
)
def test_arc_with_a_wrong_number_of_entries(
    label: str, value: object, given: int, expected: int
) -> None:
    assert refusal(lambda: run(**{label: value})) == (
        f"Arc 'regulate': {label} has {given} entries; the model 'regulator' has {expected}. Give "
        "one for each."
    )


@pytest.mark.parametrize(
    "duration", [(2.0, 1.0), (-1.0, 1.0), (NAN, 1.0), (0.0, NAN), (INFINITY, INFINITY)]
)
def test_arc_with_a_duration_that_cannot_be(duration: tuple[float, float]) -> None:
    assert refusal(lambda: run(duration=duration)) == (
        f"Arc 'regulate': duration bounds {duration} must satisfy 0 <= smallest <= largest. "
        "Correct the pair."
    )


def test_condition_with_a_wrong_number_of_bounds() -> None:
    make = lambda: Condition(  # noqa: E731
        quantities=quantities("a", "b"), expression=FinalEntry(0), bounds=Bounds.fixed((1.0,))
    )
    assert refusal(make) == (
        "Condition ['a', 'b']: 1 bounds for 2 quantities. Give one pair for each."
    )


@pytest.mark.parametrize(
    ("changes", "text"),
    [
        ({"arcs": ()}, "arc names [] must be unique and at least one. Rename the arcs."),
        (
            {"arcs": (run(), run())},
            "arc names ['regulate', 'regulate'] must be unique and at least one. Rename the arcs.",
        ),
        (
            {"free": quantities("f")},
            "1 free numbers but 0 bounds. Give free_bounds one entry for each.",
        ),
        ({"parameters": ("p",)}, "1 parameters but 0 values. Give one value for each."),
        (
            {"start_time": (1.0, 0.0)},
            "start_time (1.0, 0.0) must be (smallest, largest). Swap or correct the pair.",
        ),
    ],
)
def test_problem_that_does_not_fit_together(changes: dict[str, object], text: str) -> None:
    problem = regulator.problem(MESH)
    assert refusal(lambda: replace(problem, **changes)) == f"Problem: {text}"  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("first", "last", "shortest", "longest"),
    [(1, 1, 0.0, 1.0), (-1, 1, 0.0, 1.0), (0, 1, 2.0, 1.0), (0, 1, NAN, 1.0)],
)
def test_span_that_cannot_be(first: int, last: int, shortest: float, longest: float) -> None:
    assert refusal(lambda: Span(first=first, last=last, shortest=shortest, longest=longest)) == (
        f"Span from instant {first} to {last}: {shortest} to {longest} must go forward in time and "
        "satisfy 0 <= shortest <= longest. Correct it."
    )


def test_span_beyond_the_last_instant() -> None:
    far = Span(first=0, last=2, shortest=0.0, longest=1.0)
    assert refusal(lambda: replace(regulator.problem(MESH), spans=(far,))) == (
        "Problem: a span ends at instant 2, but 1 arcs have instants 0 to 1. Correct the span."
    )


def arc_guess(fractions: list[float], states: object, controls: object) -> ArcGuess:
    return ArcGuess(np.array(fractions), np.array(states), np.array(controls))


GOOD_STATES, GOOD_CONTROLS = [[1.0, 0.0], [0.5, 0.5]], [[0.0], [0.0]]


@pytest.mark.parametrize("fractions", [[0.0, 0.9], [0.1, 1.0], [1.0, 0.0], [0.0, NAN], [0.0]])
def test_guess_on_fractions_that_do_not_span_the_arc(fractions: list[float]) -> None:
    text = refusal(lambda: arc_guess(fractions, GOOD_STATES, GOOD_CONTROLS))
    assert text.startswith("ArcGuess: fractions [")
    assert text.endswith("must increase from 0 to 1. Give at least the two ends.")


def test_guess_of_a_wrong_shape() -> None:
    text = refusal(lambda: arc_guess([0.0, 1.0], [1.0, 0.0], GOOD_CONTROLS))
    assert text == (
        "ArcGuess: states has shape (2,); it must be (2, ...), one row for each fraction. "
        "Transpose or reshape it."
    )
    text = refusal(lambda: arc_guess([0.0, 1.0], GOOD_STATES, [[0.0, 0.0, 0.0]]))
    assert text.startswith("ArcGuess: controls has shape (1, 3); it must be (2, ...),")


def test_guess_with_a_number_that_is_not_finite() -> None:
    bad = [[1.0, 0.0], [0.5, NAN]]
    assert refusal(lambda: arc_guess([0.0, 1.0], bad, GOOD_CONTROLS)) == (
        "ArcGuess: states[1, 1] is nan; it must be finite. Start from numbers that the equations "
        "accept."
    )
    arc = arc_guess([0.0, 1.0], GOOD_STATES, GOOD_CONTROLS)
    text = refusal(lambda: Guess(np.array([0.0, INFINITY]), (arc,), np.zeros(0)))
    assert text.startswith("Guess: instants[1] is inf; it must be finite.")
    text = refusal(lambda: Guess(np.array([0.0, 1.0]), (arc,), np.array([NAN])))
    assert text.startswith("Guess: free[0] is nan; it must be finite.")


def test_guess_of_instants_that_do_not_fit() -> None:
    arc = arc_guess([0.0, 1.0], GOOD_STATES, GOOD_CONTROLS)
    assert refusal(lambda: Guess(np.zeros(3), (arc,), np.zeros(0))) == (
        "Guess: 3 instants for 1 arcs. Give the beginning of each arc and the end of the last."
    )
    assert refusal(lambda: Guess(np.array([1.0, 0.0]), (arc,), np.zeros(0))) == (
        "Guess: instants [1. 0.] must not decrease. Order the arcs in time."
    )


def started(states: object, controls: object, free: int = 0) -> Solution:
    arc = arc_guess([0.0, 1.0], states, controls)
    return solve(regulator.problem(MESH), Guess(np.array([0.0, 1.0]), (arc,), np.zeros(free)))


@pytest.mark.parametrize(
    ("states", "controls", "free", "text"),
    [
        ([[1.0], [1.0]], GOOD_CONTROLS, 0, "1 states in arc 'regulate'; the problem has 2"),
        (GOOD_STATES, [[], []], 0, "0 controls in arc 'regulate'; the problem has 1"),
        (GOOD_STATES, GOOD_CONTROLS, 2, "2 free numbers; the problem has 0"),
    ],
)
def test_guess_of_another_problem(states: object, controls: object, free: int, text: str) -> None:
    found = refusal(lambda: started(states, controls, free))
    assert found == f"Start: {text}. Give one for each."


def short_rates(point: Point) -> list[Expr]:
    return [point.control]


def vague_path(point: Point) -> list[Expr]:
    return [point.state[0], point.state[1]]


def both(ends: Ends) -> Expr:
    return ends.end[0]


def attempt(problem: Problem) -> str:
    states = [[0.0] * len(problem.arcs[0].model.states)] * 2
    return refusal(lambda: solve(problem, straight_line(problem, [0.0, 1.0], states, [[0.0]])))


def test_model_whose_functions_give_a_wrong_number_of_values() -> None:
    short = replace(regulator.MODEL, rates=short_rates)
    problem = regulator.problem(MESH)
    assert attempt(replace(problem, arcs=(run(model=short),))) == (
        "Model 'regulator': rates gives 1 values for 2 states. Give one for each."
    )
    vague = replace(regulator.MODEL, path=quantities("p"), path_values=vague_path)
    assert attempt(replace(problem, arcs=(run(model=vague),))) == (
        "Model 'regulator': path_values gives 2 values for 1 path. Give one for each."
    )


def test_condition_and_objective_that_give_a_wrong_number_of_values() -> None:
    problem = regulator.problem(MESH)
    one = Condition(quantities=quantities("a"), expression=both, bounds=Bounds.fixed((1.0,)))
    start = starts_at(regulator.MODEL.states, (1.0, 0.0))
    assert attempt(replace(problem, conditions=(start, one))) == (
        "Condition 1: expression gives 2 values for 1 quantities. Give one for each."
    )
    cost = Objective(quantity=Quantity("w"), expression=both)
    assert attempt(replace(problem, objective=cost)) == (
        "Objective: expression gives 2 values for 1 value. Give one for each."
    )


@pytest.mark.parametrize(
    "name", ["tolerance", "iterations", "time_limit", "barrier", "near_barrier"]
)
def test_solver_settings_that_are_not_positive(name: str) -> None:
    text = refusal(lambda: replace(SolverSettings(), **{name: 0}))
    assert text == f"SolverSettings: {name} is 0; it must be positive. Raise it."


@pytest.mark.parametrize("name", ["tolerance", "path_tolerance"])
def test_refinement_with_a_tolerance_that_is_not_positive(name: str) -> None:
    text = refusal(lambda: replace(Refinement(), **{name: -1.0}))  # type: ignore[arg-type]
    assert text == f"Refinement: {name} is -1.0; it must be positive. Raise it."


def test_refinement_with_impossible_rounds_or_degree() -> None:
    assert refusal(lambda: Refinement(rounds=-1)) == (
        "Refinement: rounds is -1 and highest_degree 8; they must be 0 or more and in 1..30. "
        "Correct them."
    )
    assert "highest_degree 31;" in refusal(lambda: Refinement(highest_degree=31))


def test_descriptions_are_hashable_values() -> None:
    assert hash(regulator.problem(MESH).structure()) == hash(regulator.problem(MESH).structure())
    assert RadauMesh(breaks=[0, 1], degrees=[3]) == RadauMesh(  # type: ignore[arg-type]
        breaks=(0.0, 1.0), degrees=(3,)
    )
    assert isinstance(regulator.MODEL, Model)
