"""Sizing against designs that are laid out on a grid, each of them optimised by itself."""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.studies.designs.design_space import DesignSpace
from tests.studies.sizing.rockets import all_propellants, marl, ruff, ruff_laws

FREE = tuple(all_propellants(ruff(), 0.05))


@cache
def sized() -> ao.Sizing:
    laws = ruff_laws(ruff())
    return ao.size(ruff(), marl(), free=FREE, laws=laws, objective=ao.LeastLiftOffMass())


def vehicle_with(first: float, second: float) -> ao.Vehicle:
    """Kg of propellant in each stage."""
    design = DesignSpace(
        vehicle=ruff(), free=FREE, laws=tuple(ruff_laws(ruff())), objective=ao.LeastLiftOffMass()
    )
    return design.vehicle_at([first, second])


def margin(first: float, second: float) -> float:
    """Kg left; below zero, by the speed that is missing, where nothing flies."""
    vehicle = vehicle_with(first, second)
    try:
        return ao.optimize(vehicle, marl()).propellant_margin
    except ao.InfeasibleAscent as refusal:
        return -(refusal.shortfall or 1.0) * vehicle.stages[-1].mass / 3e3


@pytest.mark.slow
def test_it_beats_every_design_of_a_coarse_grid() -> None:
    found, flown = sized(), 0
    best = [one.value for one in found.numbers]
    for first in best[0] * np.array([0.5, 0.75, 1.0, 1.25, 1.5]):
        for second in best[1] * np.array([0.5, 0.75, 1.0, 1.25, 1.5]):
            if (first, second) != tuple(best) and margin(first, second) >= 0.0:
                flown += 1
                assert vehicle_with(first, second).lift_off_mass > found.value
    assert flown >= 8


def just_enough(second: float, near: float) -> float:
    """Kg of propellant in the first stage that leave nothing: on a parabola through three that fly.

    Those are a few per cent apart, within which margins bend by parts in a thousand.
    """
    loads = near * np.array([1.01, 1.04, 1.08])
    bend, slope, level = np.polyfit(loads, [margin(one, second) for one in loads], 2)
    return float((-slope + np.sqrt(slope**2 - 4.0 * bend * level)) / (2.0 * bend))


@pytest.mark.slow
def test_it_is_the_best_of_a_fine_grid() -> None:
    """Second stages in steps of two per cent, to each the first stage that just brings it up."""
    found, masses = sized(), []
    best = [one.value for one in found.numbers]
    along = -found.numbers[1].payload / found.numbers[0].payload  # of the line on which all is used
    for second in best[1] * np.array([0.96, 0.98, 1.0, 1.02, 1.04]):
        first = just_enough(second, best[0] + along * (second - best[1]))
        masses.append(vehicle_with(first, second).lift_off_mass)
    assert min(masses) == pytest.approx(found.value, rel=1e-4)
    assert int(np.argmin(masses)) == 2
