"""A search that ends without a certified design says what is missing, what holds it, what to do."""

from __future__ import annotations

from math import log

import pytest

import ascentopt as ao
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.uncertified import no_design_certified
from ascentopt.units import STANDARD_GRAVITY
from tests.studies.sizing.rockets import all_propellants, ruff, ruff_laws


def space() -> DesignSpace:
    return DesignSpace(
        vehicle=ruff(),
        free=tuple(all_propellants(ruff(), 0.05)),
        laws=tuple(ruff_laws(ruff())),
        objective=ao.LeastLiftOffMass(),
    )


def test_missing_propellant_is_told_as_speed_and_with_the_bound_that_holds() -> None:
    design = space()
    told = no_design_certified(design, design.upper, -20.0)
    last = design.vehicle_at(design.upper).stages[-1]
    empty = last.dry_mass + ruff().payload_mass
    speed = STANDARD_GRAVITY * last.engine.vacuum_isp * log((empty + 20.0) / empty)
    assert told.shortfall == pytest.approx(speed)
    assert "lacks 20 kg of propellant" in str(told)
    assert "Bounds hold first: propellant of 56000 kg, second: propellant of 16000 kg" in str(told)
    assert "widen them" in str(told)


def test_where_nothing_is_missing_there_is_no_shortfall() -> None:
    design = space()
    told = no_design_certified(design, 0.5 * (design.lower + design.upper), 3.0)
    assert told.shortfall is None
    assert "not on finer ones. No bound holds it: begin from another vehicle" in str(told)
