"""Calls with one thing wrong, and what comes of them."""

from __future__ import annotations

import inspect
import signal
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from itertools import pairwise
from time import perf_counter
from typing import Any

import ascentopt as ao
from tests.arguments.face import Call, blank
from tests.arguments.nonsense import allowed, wrong_for

OURS = (ao.InputError, ao.InfeasibleAscent, ao.OutOfTime, ao.Interrupted, ao.FlightError)
SLOW = 1.0  # s
_GIVEN_UP = 2 * SLOW


class GivenUp(BaseException):
    """A call took so long that nothing of it was waited for."""


@dataclass(frozen=True, eq=False)
class Spoilt:
    """A call with one thing wrong: an argument, a name, or the order.

    `argument` is a regular expression of what its refusal must name, `value` what it must show.
    """

    call: Call
    what: str
    argument: str
    value: Any
    run: Callable[[], Any]


def spoilt(call: Call) -> Iterator[Spoilt]:
    """Everything that can be spoilt of a call, one at a time."""
    finite = not call.is_result
    hints = call.hints
    for name in call.given:
        if name in hints:
            for value in wrong_for(hints[name], finite=finite):
                yield with_value(call, name, value)
    yield from _misnamed(call)
    yield from _exchanged(call)


def with_value(call: Call, name: str, value: Any) -> Spoilt:
    """With a value that cannot be right."""
    given = {**call.given, name: value}
    return Spoilt(call, name, name, value, lambda: call.function(**given))


def _misnamed(call: Call) -> Iterator[Spoilt]:
    function, given = call.function, call.given
    yield Spoilt(call, "unknown keyword", "colour", 3, lambda: function(**given, colour=3))
    for name, value in given.items():
        rest = {k: v for k, v in given.items() if k != name}
        near = {**rest, name[:-1] + "_": value}
        yield Spoilt(call, f"misspelt {name}", name[:-1] + "_", value, _call(function, near))
        if call.parameters[name].default is inspect.Parameter.empty:
            yield Spoilt(call, f"missing {name}", name, None, _call(function, rest))
    if not call.takes_more:
        many, most = [*given.values(), 3], call.most_by_position
        yield Spoilt(call, "too many by position", "argument", many[most], lambda: function(*many))


def _call(function: Callable[..., Any], given: dict[str, Any]) -> Callable[[], Any]:
    return lambda: function(**given)


def _exchanged(call: Call) -> Iterator[Spoilt]:
    names, hints = list(call.given), call.hints
    for first, second in pairwise(names):
        a, b = call.given[first], call.given[second]
        if type(a) is type(b) or first not in hints or second not in hints:
            continue
        fits = allowed(hints[first], b, finite=True) and allowed(hints[second], a, finite=True)
        if not fits:
            given = {**call.given, first: b, second: a}
            what = f"{first} and {second} exchanged"
            yield Spoilt(call, what, f"{first}|{second}", None, _call(call.function, given))


@dataclass(frozen=True, eq=False)
class Outcome:
    """What came of it."""

    spoilt: Spoilt
    error: BaseException | None
    seconds: float

    @property
    def verdict(self) -> str:
        """In two words."""
        if isinstance(self.error, GivenUp) or self.seconds > SLOW:
            return "slow"
        if self.error is None:
            return "accepted"
        return "refused" if isinstance(self.error, OURS) else "foreign error"


def outcome(one: Spoilt) -> Outcome:
    """Run it, for two seconds at most."""
    signal.signal(signal.SIGALRM, _give_up)
    signal.setitimer(signal.ITIMER_REAL, _GIVEN_UP)
    begun, error = perf_counter(), None
    try:
        one.run()
    except BaseException as found:  # noqa: BLE001 - that is what is asked for
        error = found
    finally:
        signal.setitimer(signal.ITIMER_REAL, 0.0)
    return Outcome(one, error, perf_counter() - begun)


def _give_up(*_: object) -> None:
    raise GivenUp


__all__ = ["OURS", "Outcome", "Spoilt", "blank", "outcome", "spoilt", "with_value"]
