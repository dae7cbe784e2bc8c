"""Whatever is given to the public face that cannot be right is refused by us, soon, and in full."""

from __future__ import annotations

import re
from typing import Any

import numpy as np
import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.telling import told
from tests.arguments.face import Call, calls, uncovered
from tests.arguments.nonsense import allowed
from tests.arguments.spoilt import Outcome, Spoilt, outcome, spoilt, with_value

CALLS = calls()

# What a fix begins with, or an example of what to write.
FIX = re.compile(
    r"\b(Give|Add|Write|Leave|Put|Exchange|exchange|Use|Say|Name|Did you mean|Subclass|Sort|"
    r"Define|Rename|Raise|Keep|Correct|Set|Load|Restore)\b|1\.4 for air|No air is"
)


def faults_of_text(found: Outcome) -> list[str]:
    """What the text of a refusal lacks: thing, argument, value, rule, fix."""
    text, owner = str(found.error), found.spoilt.call.name.rpartition("report.")[2]
    lacks = {
        "thing": not text.startswith(owner.partition(".")[0]),
        "argument": not re.search(found.spoilt.argument, text),
        "value": not _is_shown(found.spoilt, text),
        "rule": not re.search(
            r"must (not )?(be|hold|have)|there is no such argument|may be given|all must be named",
            text,
        ),
        "fix": not FIX.search(text) or not text.endswith((".", "?")),
        "one line": "\n" in text or len(text) > 700,
    }
    return [name for name, is_missing in lacks.items() if is_missing]


def _is_shown(one: Spoilt, text: str) -> bool:
    """Of a sequence an item may be shown, of what is exchanged one of the two is."""
    if one.what.startswith("missing") or "exchanged" in one.what:
        return "missing" in text or "looks exchanged" in text or " is " in text
    loose = isinstance(one.value, list | tuple | range | np.ndarray)
    return loose or told(one.value)[:40] in text


def faults(found: Outcome) -> str:
    """One line for what is wrong with an outcome; empty for none."""
    where = f"{found.spoilt.call.name}, {found.spoilt.what} = {told(found.spoilt.value)}"
    if found.verdict != "refused":
        return f"{where}: {found.verdict} ({found.error!r})"
    lacks = faults_of_text(found)
    return f"{where}: no {', '.join(lacks)} in {found.error}" if lacks else ""


def test_the_whole_public_face_is_called() -> None:
    assert uncovered() == []
    assert len(CALLS) > 100


@pytest.mark.parametrize("call", CALLS, ids=lambda call: call.name)
def test_one_thing_wrong_is_refused_by_name_with_value_rule_and_fix(call: Call) -> None:
    assert [text for one in spoilt(call) if (text := faults(outcome(one)))] == []


def _printable(value: Any) -> bool:
    """Whether hypothesis can print it: objects that nobody filled in cannot be."""
    try:
        return bool(repr(value))
    except AttributeError:
        return False


# What other arguments are right with.
RIGHT_ELSEWHERE = [value for call in CALLS for value in call.given.values() if _printable(value)]

nonsense = st.one_of(
    st.none(),
    st.text(max_size=20),
    st.binary(max_size=5),
    st.booleans(),
    st.floats(),
    st.complex_numbers(),
    st.integers(),
    st.integers(min_value=10**309),
    st.lists(st.one_of(st.floats(), st.text(max_size=3), st.none()), max_size=4),
    st.dictionaries(st.text(max_size=3), st.floats(), max_size=2),
    st.sets(st.floats(allow_nan=False), max_size=3),
    st.sampled_from([np.zeros((2, 2)), np.array([1j]), np.array(["a"]), np.array(2.0)]),
    st.sampled_from([call.function for call in CALLS if isinstance(call.function, type)]),
    st.sampled_from(RIGHT_ELSEWHERE),
    st.functions(like=lambda *given: None, returns=st.none(), pure=True),
)


@given(call=st.sampled_from(CALLS), value=nonsense, data=st.data())
@settings(max_examples=1000)
def test_nonsense_of_any_kind_is_refused(call: Call, value: Any, data: st.DataObject) -> None:
    name = data.draw(st.sampled_from(sorted(call.given)) if call.given else st.nothing())
    assume(name in call.hints and not allowed(call.hints[name], value, finite=not call.is_result))
    assert faults(outcome(with_value(call, name, value))) == ""


def test_a_text_without_value_or_fix_would_be_found() -> None:
    one = with_value(CALLS[0], "name", 3)

    class Bare:
        spoilt, error, verdict = one, ao.InputError("Scenario: name must be a text"), "refused"

    assert "value" in faults(Bare())  # type: ignore[arg-type]
    assert "fix" in faults(Bare())  # type: ignore[arg-type]
