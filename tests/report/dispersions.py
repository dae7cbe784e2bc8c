"""Dispersed flights to draw: what they leave is made up, of the numbers that were drawn."""

from __future__ import annotations

from functools import lru_cache

import numpy as np

import ascentopt as ao
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.units import deg, km
from tests.report.flights import optimum
from tests.studies.dispersions.linear import NOMINAL, outcomes

SCATTER: tuple[Dispersion, ...] = (
    ao.ThrustDispersion("first", ao.Normal(0.01)),
    ao.IspDispersion("first", ao.Normal(0.004)),
    ao.DryMassDispersion("second", ao.Uniform(0.01)),
    ao.DragDispersion(ao.Normal(0.05)),
    ao.AlignmentDispersion(ao.Normal(0.2 * deg)),
    ao.RandomWind(altitude=[0.0, 30 * km], sigma=[5.0, 12.0], correlation_length=3 * km),
)


@lru_cache(maxsize=8)
def flights(count: int = 900, *, lost: int = 0, weight: float = 12.0) -> ao.DispersedFlights:
    """So many, of which some fell; the thrust counts `weight` kg for a standard deviation."""
    found = optimum()
    draw = Draw(
        vehicle=found.vehicle, mission=found.mission, dispersions=SCATTER, correlations=(),
        seed=4,
    )  # fmt: skip
    inputs = draw(0, count).inputs
    margins = NOMINAL + inputs @ np.array(
        [100.0 * weight, 3e3, -200.0, -60.0, 0.0, 1.0, 0.2]
    )  # kg for one unit more of each
    margins[:lost] = np.nan
    return ao.DispersedFlights(
        ascent=found, dispersions=SCATTER, correlations=(), seed=4, count=count, inputs=inputs,
        outcomes=outcomes(margins), nominal=outcomes(np.array([NOMINAL])),
    )  # fmt: skip


def programme(judged: int) -> ao.RobustProgramme:
    """Half a degree steeper at last, and better by 3 kg on so many fresh flights."""
    before = flights().margins[:judged]
    return ao.RobustProgramme(
        ascent=optimum(), dispersions=SCATTER, correlations=(), seed=4, against=ao.Quantile(0.9),
        times=(10.0, 60.0, 110.0), shifts=(0.0, -0.1 * deg, 0.5 * deg), tuned=100, before=before,
        after=before + 3.0, nominal_before=NOMINAL, nominal_after=NOMINAL - 1.0,
        held=("dynamic_pressure",),
    )  # fmt: skip
