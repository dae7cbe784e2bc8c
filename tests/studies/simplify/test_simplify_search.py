"""How knots are sought: slopes by open flights, what a further knot buys, interrupts."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.optimal.task import unwatched
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.laws.knot_rule import KnotRule, numbers_of
from ascentopt.steering.knots import knots_of
from ascentopt.steering.programme import Programme
from ascentopt.studies.simplify.knot_descent import KnotDescent
from ascentopt.studies.simplify.knot_search import KnotSearch
from ascentopt.studies.simplify.simplify_task import SimplifyTask, task_of
from ascentopt.units import deg, kPa
from tests.optimal.launchers import lander, moon_mission
from tests.report.scenarios import optimum_of
from tests.studies.wren import MISSION, VEHICLE


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


@pytest.fixture(scope="module")
def direct() -> ao.Ascent:
    stage = replace(lander().stages[0], restarts=0)
    return ao.optimize(replace(lander(), stages=(stage,)), moon_mission())


def sought(task: SimplifyTask, knots: int) -> KnotSearch:
    """A search that closes exactly."""
    flight = RuleFlight(
        vehicle=task.ascent.flown_vehicle,
        mission=task.ascent.mission,
        rule=KnotRule(start=task.curve.fitted(knots)),
        insertion=task.insertion,
        throttling=task.throttling,
        slack=1.0,
    )
    return KnotSearch(flight=flight, curve=task.curve, fixed=task.fixed)


@pytest.mark.parametrize("name", ["ascent", "direct"])
def test_slopes_of_open_flights_are_those_of_closed_ones(
    name: str, request: pytest.FixtureRequest
) -> None:
    """A hundredth of a degree or a stride each way, closed anew, beside flights left open."""
    task = task_of(request.getfixturevalue(name), ao.Against.TIME, unwatched())
    search = sought(task, 4)
    start = search.fly(np.array(numbers_of(task.curve.fitted(4))), None)
    assert start is not None
    descent = KnotDescent(search._problem, start)
    origin = np.zeros(descent.count)
    slopes = descent.slopes(origin)[0]
    steps = 0.1 * np.eye(descent.count)
    costs = np.array([(descent.measures(s)[0], descent.measures(-s)[0]) for s in steps])
    closed = (costs[:, 0] - costs[:, 1]) / 0.2
    bend = np.abs(costs.sum(axis=1)).max() / 0.2  # forward differences see half the bend
    assert slopes == pytest.approx(closed, abs=bend + 2e-3 * np.abs(closed).max())


def test_loads_follow_a_knot_smoothly_from_one_second_into_the_next(ascent: ao.Ascent) -> None:
    """They have corners at knots: by the clock these jumped over edges, and slopes were wrong."""
    limits = ao.FlightLimits(dynamic_pressure=30 * kPa, q_alpha=100 * kPa * deg)
    limited = replace(ascent, mission=replace(ascent.mission, limits=limits))
    task = task_of(limited, ao.Against.TIME, unwatched())
    search = sought(task, 4)
    start = search.fly(np.array(numbers_of(task.curve.fitted(4))), None)
    assert start is not None
    descent = KnotDescent(search._problem, start)
    within = (descent.edges[0] < descent.passed) & (descent.passed < descent.edges[-1])
    knot = int(np.flatnonzero(within)[-1])
    ways = np.linspace(0.0, 1.5, 31)[:, None] * np.eye(descent.count)[knot]
    assert ways[-1, knot] * descent.stride > 1.5  # s: it passes an edge
    second = int(descent.passed[knot] - descent.edges[0])
    place = len(descent.edges) + second  # after the dynamic pressure of all seconds
    rooms = np.array([descent.measures(way)[place] for way in ways])
    changes = np.diff(rooms)
    assert np.abs(np.diff(changes)).max() < 0.2 * np.abs(changes).max()


def counted(programme: ao.SimplerProgramme) -> tuple[float, float]:
    beyond = max((excess.share for excess in programme.broken), default=0.0)
    return round(beyond, 3), programme.penalty


@pytest.mark.parametrize("name", ["ascent", "direct"])
def test_a_knot_more_never_costs_and_none_is_useless(
    name: str, request: pytest.FixtureRequest
) -> None:
    curve = ao.simplify_curve(request.getfixturevalue(name), range(2, 7))
    assert len(curve) == 5
    for count, (fewer, more) in zip(range(3, 7), pairwise(curve), strict=True):
        assert counted(more) <= counted(fewer)
        assert len(more.knots) <= count
        assert more is fewer or len(more.knots) > len(fewer.knots) or counted(more) < counted(fewer)
    assert counted(curve[-1]) < counted(curve[0])


class Stopped:
    """Stops the flights of a search as Ctrl-C does, once so many programmes are finished."""

    def __init__(self, fly: Callable[..., ClosedRuleFlight]) -> None:
        self.fly = fly
        self.found: tuple[ao.SimplerProgramme, ...] = ()

    def keep(self, step: ao.Step[tuple[ao.SimplerProgramme, ...]]) -> None:
        self.found = step.so_far or ()

    def __call__(self, *args: object) -> ClosedRuleFlight:
        if len(self.found) == 2:
            raise KeyboardInterrupt
        return self.fly(*args)


def test_an_interrupt_is_heard_and_loses_nothing_finished(
    ascent: ao.Ascent, monkeypatch: pytest.MonkeyPatch
) -> None:
    whole = ao.simplify_curve(ascent, (2, 3))
    stopped = Stopped(RuleFlight.fly)

    def fly(*args: object) -> ClosedRuleFlight:
        return stopped(*args)

    monkeypatch.setattr(RuleFlight, "fly", fly)
    with pytest.raises(ao.Interrupted) as told:
        ao.simplify_curve(ascent, range(2, 7), progress=stopped.keep)
    assert [one.knots for one in stopped.found] == [one.knots for one in whole]
    assert told.value.best == stopped.found


class StoppedAfter:
    """Flies, until the user has seen so many flights."""

    def __init__(self, most: int, fly: Callable[..., ClosedRuleFlight]) -> None:
        self.left, self.fly = most, fly

    def __call__(self, *args: object) -> ClosedRuleFlight:
        self.left -= 1
        if self.left == -1:
            raise KeyboardInterrupt
        return self.fly(*args)


def test_an_interrupt_carries_the_best_programme_that_was_flown(
    ascent: ao.Ascent, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Though no search has come to its end; what was flown first alone is no better."""
    fly, kept = RuleFlight.fly, []
    for most in (2, 8):
        stopping = StoppedAfter(most, fly)
        monkeypatch.setattr(RuleFlight, "fly", lambda *args, stop=stopping: stop(*args))
        with pytest.raises(ao.Interrupted, match="`best` is the programme so far") as told:
            ao.simplify(ascent, knots=5)
        assert isinstance(told.value.best, ao.SimplerProgramme)
        kept.append(told.value.best)
    first, later = kept
    assert len(later.knots) == 5
    assert counted(later) <= counted(first)


def test_engines_that_cannot_throttle_are_not_said_to(ascent: ao.Ascent) -> None:
    limits = ao.FlightLimits(dynamic_pressure=60 * kPa, axial_acceleration=200.0)
    limited = replace(ascent, mission=replace(ascent.mission, limits=limits))
    programme = ao.simplify(limited, knots=3)
    assert programme.throttling is None
    assert "throttle" not in str(programme)


def test_nothing_has_no_sign(ascent: ao.Ascent) -> None:
    programme = replace(ao.simplify(ascent, knots=3), penalty=-1e-4)
    assert ": 0.00 kg on the optimum" in str(programme)


@pytest.mark.slow
def test_it_heads_to_where_the_optimum_does() -> None:
    """South of east to its inclination: a programme that heads north costs half a per cent more."""
    south = optimum_of("earth-inclined")
    assert south.plan.southward
    programme = ao.simplify(south, knots=4)
    assert isinstance(programme.law, Programme)
    assert knots_of(programme.law.steps)[1] > 100 * deg
    assert programme.penalty < 2e-4 * south.propellant_used
    assert programme.broken == ()


@pytest.mark.slow
def test_the_payload_stays_cool() -> None:
    """The optimum coasts as low as its payload bears; so does the programme."""
    programme = ao.simplify(optimum_of("earth-weak-upper"), knots=4)
    assert programme.broken == ()
    assert 0.0 < programme.penalty < 10.0


@pytest.mark.slow
@pytest.mark.parametrize(
    ("name", "once"),
    [("earth-large-slow", 50.1), ("earth-boosters", 13.9), ("earth-strong-first", 1.7)],
)
def test_no_descent_stops_before_what_slopes_of_closed_flights_found(
    name: str, once: float
) -> None:
    """Kilograms; slopes over a tenth of a degree stopped up to 1.3 kg above them."""
    programme = ao.simplify(optimum_of(name), knots=4)
    assert programme.broken == ()
    assert programme.penalty < once
