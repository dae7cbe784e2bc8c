"""Ascents of a second each, solved once, and cases that need no ascent."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from functools import cache

from hypothesis import strategies as st

import ascentopt as ao
from ascentopt.baselines.case import WORDS
from ascentopt.baselines.inputs import Input


@cache
def brisk(payload_factor: float = 1.0) -> ao.Ascent:
    """From the Moon, with so much more payload."""
    scenario = ao.scenarios()["moon-brisk"]
    vehicle = scenario.vehicle
    heavier = replace(vehicle, payload_mass=vehicle.payload_mass * payload_factor)
    return ao.optimize(heavier, scenario.mission)


def case(
    cost: float = 1000.0,
    inputs: Mapping[str, Input] | None = None,
    partials: Mapping[str, float] | None = None,
    structure: str = "direct insertion",
    verdict: str = "certified",
) -> ao.BaselineCase:
    """A case of an ascent that nobody flew."""
    return ao.BaselineCase(
        propellant_used=cost,
        structure=structure,
        verdict=verdict,
        recorded_with="ascentopt 0, casadi 0",
        inputs=dict.fromkeys(partials or (), 0.0) if inputs is None else inputs,
        partials={} if partials is None else partials,
    )


FINITE = st.floats(allow_nan=False, allow_infinity=False, min_value=-1e300, max_value=1e300,
                   exclude_min=True, exclude_max=True)  # fmt: skip
TEXT = st.text(st.characters(codec="utf-8"), max_size=12)
NAMES = st.text(max_size=12).filter(lambda name: name.isprintable() and bool(name.strip()))
WHOLE = st.integers(min_value=-(2**62), max_value=2**62)
INPUTS = st.one_of(FINITE, WHOLE, TEXT, st.lists(FINITE, max_size=5).map(tuple))


@st.composite
def cases(draw: st.DrawFn) -> ao.BaselineCase:
    """Any case that a file can hold."""
    positive = st.floats(min_value=1e-3, max_value=1e9)
    inputs = draw(st.dictionaries(TEXT, INPUTS, max_size=5))
    partials = {place: draw(FINITE) for place in inputs if draw(st.booleans())}
    return ao.BaselineCase(
        propellant_used=draw(positive),
        ballast=draw(st.one_of(st.just(0.0), positive)),
        tolerance=ao.CostTolerance(mass=draw(positive), share=draw(st.floats(0.0, 0.5))),
        structure=draw(TEXT),
        verdict=draw(st.sampled_from(WORDS)),
        recorded_with=draw(TEXT),
        inputs=inputs,
        partials=partials,
    )


BASELINES = st.dictionaries(NAMES, cases(), max_size=4).map(ao.Baseline)
