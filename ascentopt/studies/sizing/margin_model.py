"""What a changed design leaves in its tank, foretold by the rocket equation between solves."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import exp, log

import numpy as np

from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.sizing.flown import FlownDesign
from ascentopt.typing import Floats

_STEP = 1e-6
"""Share of the scales for slopes of the rocket equation, by central differences: rounding leaves
1e-10 of them."""


@dataclass(frozen=True, kw_only=True, eq=False)
class MarginModel:
    """The margin near a flown design: its value and slopes there, beyond it the rocket equation's.

    With the impulse that the flown design spent, losses included, the rocket equation tells what
    others would leave, and with it how margins curve in the masses; what it does not know, how
    losses change with thrust above all, is learned from the slopes of designs that were flown, by
    symmetric rank-one updates (J. Nocedal, S. J. Wright, *Numerical Optimization*, 2nd ed., sec.
    6.2, from memory).

    Args:
        design: the vehicles.
        flown: where it is exact to first order.
        scales: (n,) sizes of the unknowns.
        bend: (n, n) second derivatives by scaled unknowns beyond those of the rocket equation, kg.
    """

    design: DesignSpace
    flown: FlownDesign
    scales: Floats
    bend: Floats

    def margin(self, scaled: Floats) -> float:
        """Kg left, for (n,) unknowns over their scales."""
        step = scaled - self.flown.values / self.scales
        first = (self.flown.slopes * self.scales - self._ideal_slopes_here) @ step
        ideal = self._ideal(scaled) - self.flown.margin
        return float(self.flown.margin + ideal + first + 0.5 * step @ self.bend @ step)

    def slopes(self, scaled: Floats) -> Floats:
        """(n,) of `margin` by the scaled unknowns, kg."""
        step = scaled - self.flown.values / self.scales
        first = self.flown.slopes * self.scales - self._ideal_slopes_here
        return self.ideal_slopes(scaled) + first + self.bend @ step

    def at(self, flown: FlownDesign) -> MarginModel:
        """The model of another design that was flown, and what its slopes teach."""
        moved = replace(self, flown=flown)
        step = (flown.values - self.flown.values) / self.scales
        back = moved.ideal_slopes(self.flown.values / self.scales)
        ideal = moved.ideal_slopes(flown.values / self.scales) - back
        found = (flown.slopes - self.flown.slopes) * self.scales - ideal
        return replace(moved, bend=_rank_one(self.bend, step, found))

    @property
    def _ideal_slopes_here(self) -> Floats:
        return self.ideal_slopes(self.flown.values / self.scales)

    def ideal_slopes(self, scaled: Floats) -> Floats:
        """(n,) of the rocket equation alone by the scaled unknowns, kg.

        Central differences; none of the unknowns may be negative.
        """
        slopes = []
        for one in _STEP * np.eye(len(scaled)):
            high, low = scaled + one, np.maximum(scaled - one, 0.0)
            slopes.append((self._ideal(high) - self._ideal(low)) / float(np.sum(high - low)))
        return np.array(slopes)

    def _ideal(self, scaled: Floats) -> float:
        """Kg left by the rocket equation when as much impulse is spent as by the flown design."""
        vehicle = self.design.vehicle_at(scaled * self.scales)
        spare = vehicle.ideal_delta_v - self._spent
        return _empty(vehicle) * (exp(spare / vehicle.stages[-1].engine.exhaust_speed) - 1.0)

    @property
    def _spent(self) -> float:
        """Speed in m/s that the flown design spends of its impulse."""
        vehicle = self.design.vehicle_at(self.flown.values)
        left = log(1.0 + self.flown.margin / _empty(vehicle))
        return vehicle.ideal_delta_v - vehicle.stages[-1].engine.exhaust_speed * left


def _empty(vehicle: Vehicle) -> float:
    """Mass in the orbit without propellant, kg."""
    return vehicle.stages[-1].dry_mass + vehicle.payload_mass


_FLAT = 1e-8
"""Cosine below which a rank-one update says nothing and blows up: the textbook's."""


def _rank_one(bend: Floats, step: Floats, found: Floats) -> Floats:
    """The second derivatives with those along a step, by what the slopes changed."""
    missed = found - bend @ step
    along = float(missed @ step)
    if abs(along) <= _FLAT * float(np.linalg.norm(missed) * np.linalg.norm(step)):
        return bend
    return np.asarray(bend + np.outer(missed, missed) / along)
