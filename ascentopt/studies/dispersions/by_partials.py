"""What the partials of the optimum say of dispersions, to first order."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from ascentopt.flight.results.limit_check import PAYLOAD_HEATING
from ascentopt.mission.limits import SCALES
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.studies.dispersions.load_shares import LoadShare
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


def limits_that_press(ascent: Ascent) -> frozenset[str]:
    """Loads, by name, whose limits cost the optimum propellant: its partials keep them."""
    quantities = {"heating": PAYLOAD_HEATING}
    quantities |= {name: f"limit on {name.replace('_', ' ')}" for name in SCALES}
    known = {row.quantity: row.margin for row in ascent.partials}
    return frozenset(name for name, one in quantities.items() if known.get(one, 0.0) != 0.0)


def first_order(
    ascent: Ascent,
    dispersions: Sequence[Dispersion],
    correlations: Sequence[Correlation],
    loads: Sequence[LoadShare],
) -> FirstOrder:
    """All together, those that have no partial left out; `loads` are those of the flights."""
    numbers = [one for one in dispersions if isinstance(one, NumberDispersion)]
    gains = np.array([gain(one, ascent) for one in numbers])
    factor = correlation_factor(dispersions, correlations)
    without = tuple(one.name for one in dispersions if np.isnan(gain(one, ascent)))
    press = limits_that_press(ascent)
    exceeded = (one for one in loads if one.name in press and one.within < one.flights)
    return FirstOrder(
        sigma=combined(np.nan_to_num(gains).tolist(), factor),
        without=without,
        exceeded=tuple(one.name.replace("_", " ") for one in exceeded),
    )
