"""Values of the right kind and of any size are taken or refused, and nothing else."""

from __future__ import annotations

import warnings

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

import ascentopt as ao
from tests.arguments.face import Call, calls
from tests.arguments.nonsense import allowed
from tests.arguments.spoilt import outcome, with_value

# What only describes, and is soon done with: studies have tests of their own.
DESCRIBING = [
    call
    for call in calls()
    if call.name[0].isupper() and not call.is_result and not call.name.startswith("Baseline.")
]

WILD = [
    -1.0, -0.0, 0.0, 1e300, -1e300, 5e-324, 1e-300, 1e30, 10**30, -(10**30), 0, 1, 7, 1e-3, 1e6,
    "", "\x00", "a" * 10_000, (), (0.0,), (0.0, 0.0), (1.0, 0.0), (1e300, 1e300, 1e300),
    (0.0, 1e-300, 1e300), (-1e300, 0.0, 1e300), ((0.0, 1.0), (0.0, 1.0)), (3, 3, 3), (-1,),
    ("x", "x"), (("a", ao.AtEmpty()), ("a", ao.AtEmpty())),
]  # fmt: skip


def settled(call: Call, name: str, value: object) -> str:
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", ao.UnusualInputWarning)
        return outcome(with_value(call, name, value)).verdict


@pytest.mark.parametrize("call", DESCRIBING, ids=lambda call: call.name)
def test_extremes_are_taken_or_refused(call: Call) -> None:
    found = {
        (name, repr(value)[:40]): settled(call, name, value)
        for name in call.given
        for value in WILD
        if name in call.hints and allowed(call.hints[name], value, finite=True)
    }
    assert {key: end for key, end in found.items() if end not in {"refused", "accepted"}} == {}


@given(call=st.sampled_from(DESCRIBING), value=st.floats(allow_nan=False), data=st.data())
def test_any_number_is_taken_or_refused(call: Call, value: float, data: st.DataObject) -> None:
    assume(call.given)
    name = data.draw(st.sampled_from(sorted(call.given)))
    assume(name in call.hints and allowed(call.hints[name], value, finite=True))
    assert settled(call, name, value) in {"refused", "accepted"}
