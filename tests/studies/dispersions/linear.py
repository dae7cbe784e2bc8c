"""Flights whose propellant left is a straight line in what is off: their statistics are known."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from ascentopt.guided.deviations import Deviations
from ascentopt.guided.dispersed_flight import Planned
from ascentopt.guided.outcomes import End, Loads, Misses, Outcomes
from ascentopt.typing import Floats

NOMINAL = 60.0  # kg left
GAINS = {"thrust": 2000.0, "isp": 5000.0, "drag": -100.0}
"""Kilograms left for one unit more, of the lowest part."""


@dataclass(frozen=True)
class LinearFlight:
    """In place of the flight: what is left is a straight line, loads and misses are made of it."""

    stages: int
    groups: int
    falls_below: float = -np.inf

    @classmethod
    def of(cls, planned: Planned) -> LinearFlight:
        """Of any ascent."""
        vehicle = planned.vehicle
        return cls(stages=len(vehicle.stages), groups=len(vehicle.boosters))

    @property
    def nominal(self) -> Deviations:
        """Nothing off."""
        return Deviations.none(1, stages=self.stages, groups=self.groups)

    def fly(self, deviations: Deviations, *, track: bool = False) -> Outcomes:
        """Each draw by itself."""
        off = deviations
        margin = (
            NOMINAL
            + GAINS["thrust"] * (off.thrust[:, 0] - 1.0)
            + GAINS["isp"] * (off.isp[:, 0] - 1.0)
            + GAINS["drag"] * (off.drag - 1.0)
            - off.payload
        )
        return outcomes(np.where(margin < self.falls_below, np.nan, margin))


def outcomes(margin: Floats) -> Outcomes:
    """What became of flights that leave so much, negative for what is missing, nan for a fall."""
    count = len(margin)
    fell, short = np.isnan(margin), margin < 0.0
    zero = np.zeros(count)
    own = np.nan_to_num(margin)
    return Outcomes(
        end=np.where(fell, End.FELL, np.where(short, End.SHORT, End.IN_ORBIT)),
        time=400.0 + 0.1 * own,
        propellant_left=np.where(fell, np.nan, np.maximum(margin, 0.0)),
        missing_speed=np.where(fell, np.nan, np.maximum(-2.0 * margin, 0.0)),
        missing_propellant=np.where(fell, np.nan, np.maximum(-margin, 0.0)),
        misses=Misses(
            radius=0.1 * own, climb=1e-3 * own, speed=1e-3 * own, out_of_plane=zero, drift=zero
        ),
        periapsis=119e3 + own,
        apoapsis=121e3 + 2.0 * own,
        inclination=zero,
        ascending_node=zero,
        loads=Loads(
            dynamic_pressure=30e3 + 20.0 * own, q_alpha=1e3 + own,
            axial_acceleration=40.0 + 0.01 * own, heating=zero,
        ),
        final_state=np.zeros((count, 7)),
        arc_ends=np.zeros((count, 3)),
        handover=zero + 150.0,
    )  # fmt: skip
