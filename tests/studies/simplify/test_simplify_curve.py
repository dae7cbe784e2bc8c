"""A curve of programmes is as good as any search of so many knots alone."""

from __future__ import annotations

import ascentopt as ao
from tests.rules.overshot import MISSION, VEHICLE

_CLOSE = 1e-6  # of the propellant: what is not worth a step


def test_a_knot_more_never_costs_and_no_search_alone_finds_more() -> None:
    """Fitted knots lie in a better valley than the best with one fewer and one on its line."""
    ascent = ao.optimize(VEHICLE, MISSION)
    used = [one.propellant_used for one in ao.simplify_curve(ascent, range(2, 7))]
    assert used == sorted(used, reverse=True)
    for count in (4, 5, 6):
        alone = ao.simplify(ascent, knots=count).propellant_used
        assert used[count - 2] < alone * (1.0 + _CLOSE)


def test_endings_are_printed_in_words() -> None:
    told = str(ao.simplify(ao.optimize(VEHICLE, MISSION), knots=2))
    assert "0.100 km of altitude, climbing" in told
    assert "(" not in told.split("arcs end at")[1]
