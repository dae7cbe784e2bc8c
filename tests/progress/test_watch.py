"""A study under way tells its steps, and whatever stops it carries what is finished."""

from __future__ import annotations

import logging
import pickle
import signal
from itertools import count
from math import inf, nan
from typing import Any

import pytest

import ascentopt as ao
from ascentopt.progress import Deadline, Step, TimeIsUp, Watch

LOG = logging.getLogger("ascentopt.tests")


def collected(watch_steps: list[Step[Any]]) -> ao.Progress[Any]:
    return watch_steps.append


def test_steps_are_counted_and_the_last_says_that_it_is_over() -> None:
    steps: list[Step[int]] = []
    found: list[int] = []
    watch = Watch[int]("sum", LOG, collected(steps))
    watch.total = 2
    with watch.carrying("sum", lambda: sum(found) or None):
        watch.begins("first")
        for number in (3, 4):
            found.append(number)
            watch.finishes(f"{number}")
    assert [one.doing for one in steps] == ["first", "3", "4", "done"]
    assert [one.done for one in steps] == [0, 1, 2, 2]
    assert [one.over for one in steps] == [False, False, False, True]
    assert {one.total for one in steps} == {2}
    assert {one.study for one in steps} == {"sum"}
    assert [one.seconds for one in steps] == sorted(one.seconds for one in steps)
    assert {one.so_far for one in steps} == {7}  # what there is when it is asked
    assert str(steps[2]).startswith("sum 2/2, ")


@pytest.mark.parametrize(
    ("stop", "error", "said"),
    [
        (KeyboardInterrupt, ao.Interrupted, "sum: interrupted after .*; `best` is the sum so far."),
        (TimeIsUp, ao.OutOfTime, r"sum: the time allowed \(60 s\) is up; `best` is the sum so far"),
    ],
)
def test_a_stop_carries_what_is_finished(
    stop: type[BaseException], error: type[BaseException], said: str
) -> None:
    steps: list[Step[int]] = []
    watch = Watch[int]("sum", LOG, collected(steps), 60.0)
    with pytest.raises(error, match=said) as told, watch.carrying("sum", lambda: 7):
        raise stop
    assert isinstance(told.value, ao.Interrupted | ao.OutOfTime)
    assert told.value.best == 7
    assert [(one.doing, one.over) for one in steps] == [("stopped", True)]
    again = pickle.loads(pickle.dumps(told.value))
    assert (type(again), again.best, str(again)) == (error, 7, str(told.value))


def test_where_nothing_is_finished_the_error_says_so() -> None:
    watch = Watch[int]("sum", LOG)
    with pytest.raises(ao.Interrupted, match="no sum is finished") as told:  # noqa: SIM117
        with watch.carrying("sum", lambda: None):
            raise KeyboardInterrupt
    assert told.value.best is None


def test_other_errors_pass() -> None:
    steps: list[Step[int]] = []
    watch = Watch[int]("sum", LOG, collected(steps))
    with pytest.raises(ZeroDivisionError), watch.carrying("sum", lambda: 7):
        print(1 / 0)
    assert [one.over for one in steps] == [True]


def test_a_callable_that_fails_is_not_called_again() -> None:
    """Its error ends the work, told as the study's, with the caller's own as its cause."""
    calls = count()

    def failing(_: Step[int]) -> None:
        next(calls)
        raise LookupError("the caller's")

    watch = Watch[int]("sum", LOG, failing)
    text = "sum: progress is .*which raised LookupError: the caller's"
    with pytest.raises(ao.InputError, match=text), watch.carrying("sum", lambda: 7):
        watch.finishes("3")
    assert next(calls) == 1


def test_a_study_within_another_tells_as_the_outer_one_which_has_the_word() -> None:
    steps: list[Step[str]] = []
    outer = Watch[str]("outer", LOG, collected(steps), 60.0)
    outer.total = 5
    inner = outer.inside("inner", LOG)
    assert inner.deadline == outer.deadline

    def work() -> None:
        with outer.carrying("word", lambda: f"outer of {inner.so_far()}"):
            with inner.carrying("number", lambda: 3):
                inner.finishes("one")
            assert inner.so_far() == 3
            with inner.carrying("number", lambda: 4):
                raise KeyboardInterrupt

    with pytest.raises(ao.Interrupted, match=r"outer: .* `best` is the word so far") as told:
        work()
    assert told.value.best == "outer of 4"
    assert [(one.study, one.doing) for one in steps] == [
        ("outer", "inner: one"),
        ("outer", "stopped"),
    ]
    assert (steps[0].done, steps[0].total, steps[0].so_far) == (0, 5, "outer of 4")


def test_steps_are_logged_at_info_and_cost_no_text_when_nobody_listens(
    caplog: pytest.LogCaptureFixture,
) -> None:
    watch = Watch[int]("sum", LOG)
    with caplog.at_level(logging.INFO, logger="ascentopt"):
        watch.finishes("seven kilograms")
    (record,) = caplog.records
    assert (record.name, record.levelname) == ("ascentopt.tests", "INFO")
    assert record.getMessage().startswith("sum: seven kilograms (")
    caplog.clear()
    with caplog.at_level(logging.WARNING, logger="ascentopt"):
        watch.finishes("eight")
    assert caplog.records == []


@pytest.mark.parametrize("limit", [0.0, -1.0, nan, inf, "60", True, [60.0]])
def test_a_limit_must_be_a_positive_number_of_seconds(limit: Any) -> None:
    with pytest.raises(ao.InputError, match=r"sum: time_limit is .*Give seconds of the clock"):
        Watch("sum", LOG, time_limit=limit)


@pytest.mark.parametrize("progress", [3, "bar", [print]])
def test_progress_must_be_callable(progress: Any) -> None:
    with pytest.raises(ao.InputError, match=r"sum: progress is .*Give a function"):
        Watch("sum", LOG, progress)


def test_a_deadline_tells_what_is_left_and_refuses_when_nothing_is() -> None:
    ticks = count(1.0)
    deadline = Deadline(at=3.0, clock=lambda: next(ticks))
    assert [deadline.left(), deadline.left()] == [2.0, 1.0]
    with pytest.raises(TimeIsUp):
        deadline.left()
    assert Deadline().left() == inf
    assert Deadline.after(None).left() == inf
    assert 59.0 < Deadline.after(60.0).left() <= 60.0


def test_the_key_is_heard_where_the_work_looks_and_never_lost() -> None:
    """Python's own handler would raise within whatever library is at work."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    reached: list[str] = []
    watch = Watch[int]("sum", LOG)

    def work(*, looks: bool) -> None:
        with watch.carrying("sum", lambda: 7):
            signal.raise_signal(signal.SIGINT)
            reached.append("after the key")
            if looks:
                watch.deadline.left()
                reached.append("beyond the look")

    try:
        for looks in (True, False):
            watch = Watch[int]("sum", LOG)
            with pytest.raises(ao.Interrupted) as told:
                work(looks=looks)
            assert told.value.best == 7
        assert reached == ["after the key"] * 2
        assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
    finally:
        signal.signal(signal.SIGINT, before)
