"""What the partials of the optimum say of dispersions, to first order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.dispersions.reserve import FirstOrder, combined
from ascentopt.studies.dispersions.scatter.correlation import Correlation, correlation_factor
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion, NumberDispersion


def gain(one: Dispersion, ascent: Ascent) -> float:
    """Kilograms left for a standard deviation of it, signed; nan where it has no partial."""
    if not isinstance(one, NumberDispersion):
        return float("nan")
    measure = one.measure(ascent.vehicle)
    if measure is None:
        return float("nan")
    try:
        margins = [ascent.partials[name].margin * units for name, units in measure.terms]
    except KeyError:
        return float("nan")
    return sum(margins) * one.by.spread


def column_gains(dispersions: Sequence[Dispersion], ascent: Ascent) -> list[float]:
    """The same for every column of the inputs."""
    return [gain(one, ascent) for one in dispersions for _ in one.columns]


def first_order(
    ascent: Ascent, dispersions: Sequence[Dispersion], correlations: Sequence[Correlation]
) -> FirstOrder:
    """All together, those that have no partial left out."""
    numbers = [one for one in dispersions if isinstance(one, NumberDispersion)]
    gains = np.array([gain(one, ascent) for one in numbers])
    factor = correlation_factor(dispersions, correlations)
    without = tuple(one.name for one in dispersions if np.isnan(gain(one, ascent)))
    return FirstOrder(sigma=combined(np.nan_to_num(gains).tolist(), factor), without=without)
