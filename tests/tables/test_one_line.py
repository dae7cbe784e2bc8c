"""A `repr` that fits a line."""

from __future__ import annotations

from dataclasses import dataclass, field

import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.tables import in_a_line, one_line
from ascentopt.tables.one_line import WIDTH


@dataclass(frozen=True)
class Part:
    name: str
    sizes: tuple[float, ...] = ()
    table: np.ndarray = field(default_factory=lambda: np.zeros((2, 3)))
    inner: Part | None = None

    __repr__ = in_a_line


@given(st.text(), st.lists(st.text()))
def test_anything_is_a_line(name: str, parts: list[str]) -> None:
    for told in (one_line(Part("a"), name, *parts), repr(Part(name, inner=Part(name)))):
        assert len(told) <= WIDTH
        assert len(told.splitlines()) == 1
        assert told.startswith("Part(")
        assert told.endswith(")")


def test_long_things_are_counted_and_defaults_left_out() -> None:
    part = Part("a", sizes=tuple(map(float, range(9))), inner=Part("b", (1.0,)))
    assert repr(part) == (
        "Part(name='a', sizes=<9 entries>, table=<2 x 3 numbers>, "
        "inner=Part(name='b', sizes=(1.0,), table=<2 x 3 num…)"
    )
