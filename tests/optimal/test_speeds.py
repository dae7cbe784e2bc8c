"""What is missing is said with digits that are not all zero."""

from __future__ import annotations

import pytest

from ascentopt.optimal.speeds import in_words


@pytest.mark.parametrize(
    ("speed", "words"),
    [(4605.34, "4605.3 m/s"), (1.0, "1.0 m/s"), (0.0573512, "0.057 m/s"), (0.31, "0.31 m/s")],
)
def test_a_small_shortfall_does_not_read_as_none(speed: float, words: str) -> None:
    assert in_words(speed) == words
