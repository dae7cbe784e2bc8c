"""Colours can be told apart in grey print."""

from __future__ import annotations

from itertools import pairwise

from matplotlib.colors import to_rgb

from ascentopt.report.page.palette import COSTS, LOSS_FILLS, OPTIMUM, OTHERS


def lightness(color: str) -> float:
    """Relative luminance of sRGB (IEC 61966-2-1), 0 black to 1 white."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in to_rgb(color)]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def test_costs_grow_darker() -> None:
    assert all(lightness(one) > lightness(other) + 0.02 for one, other in pairwise(COSTS))


def test_parts_of_a_bar_differ_in_lightness_or_hatching() -> None:
    for one, other in pairwise(LOSS_FILLS):
        assert abs(lightness(one.color) - lightness(other.color)) > 0.15 or one.hatch != other.hatch


def test_no_two_curves_have_the_same_dashes() -> None:
    assert len({str(stroke.dashes) for stroke in (OPTIMUM, *OTHERS)}) == 1 + len(OTHERS)


def test_curves_stand_out_from_paper() -> None:
    assert all(lightness(stroke.color) < 0.3 for stroke in (OPTIMUM, *OTHERS))
