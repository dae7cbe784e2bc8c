"""Dispersed flights as they are flown: one input at a time against its partial, and processes."""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from tests.studies.wren import MISSION, VEHICLE


@pytest.fixture(scope="module")
def ascent() -> ao.Ascent:
    return ao.optimize(VEHICLE, MISSION)


ONE_AT_A_TIME: tuple[Dispersion, ...] = (
    ao.IspDispersion("lower", ao.Normal(0.002)),
    ao.IspDispersion("upper", ao.Normal(0.002)),
    ao.ThrustDispersion("lower", ao.Normal(0.003)),
    ao.DryMassDispersion("lower", ao.Uniform(0.01)),
    ao.DryMassDispersion("upper", ao.Normal(0.01)),
    ao.PropellantDispersion("lower", ao.Normal(0.002)),
    ao.PayloadDispersion(ao.Normal(3.0)),
    ao.DragDispersion(ao.Normal(0.02)),
    ao.DensityDispersion(ao.Normal(0.02)),
)


@pytest.mark.parametrize("one", ONE_AT_A_TIME, ids=lambda one: one.name)
def test_a_small_scatter_of_one_input_is_its_partial(one: Dispersion, ascent: ao.Ascent) -> None:
    found = ao.disperse(ascent, (one,), count=60, seed=2)
    [row] = found.importance().rows
    spread = found.inputs[:, 0].std() / one.by.spread  # type: ignore[attr-defined]
    print(one.name, row.regression / spread, row.first_order, abs(row.rank))
