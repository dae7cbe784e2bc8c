"""Draws of all that scatters, as they are flown and as a table tells them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Self

import numpy as np

from ascentopt.guided.deviations import Deviations
from ascentopt.mission import Mission
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.rocket import Vehicle
from ascentopt.studies.dispersions.scatter.correlation import Correlation, correlation_factor
from ascentopt.studies.dispersions.scatter.dispersion import (
    Columns,
    Dispersion,
    NumberDispersion,
    ProfileDispersion,
)
from ascentopt.studies.dispersions.scatter.draft import DeviationsDraft
from ascentopt.studies.dispersions.scatter.scores import all_scores
from ascentopt.studies.dispersions.scatter.wind import WindDispersion
from ascentopt.typing import Floats


@dataclass(frozen=True, kw_only=True, eq=False)
class Draws:
    """Some draws.

    Attributes:
        deviations: as they are flown.
        inputs: (n, columns) as a table tells them.
    """

    deviations: Deviations
    inputs: Floats


@dataclass(frozen=True, kw_only=True)
class Draw:
    """Makes draws of a vehicle on a mission.

    Args:
        vehicle, mission: that fly.
        dispersions: what scatters.
        correlations: between numbers among them.
        seed: of all draws.
    """

    vehicle: Vehicle
    mission: Mission
    dispersions: Sequence[Dispersion]
    correlations: Sequence[Correlation]
    seed: int

    @classmethod
    def of(
        cls,
        ascent: Ascent,
        dispersions: Sequence[Dispersion],
        correlations: Sequence[Correlation],
        seed: int,
    ) -> Self:
        """Of what flew in an ascent."""
        return cls(
            vehicle=ascent.vehicle,
            mission=ascent.mission,
            dispersions=tuple(dispersions),
            correlations=tuple(correlations),
            seed=seed,
        )

    @property
    def columns(self) -> Columns:
        """Names and units of the inputs."""
        return tuple(column for one in self.dispersions for column in one.columns)

    def __call__(self, begin: int, end: int) -> Draws:
        """Draws ``begin`` to ``end`` - 1, which hang on their own number and the seed alone."""
        draft = DeviationsDraft(self.vehicle, end - begin)
        numbers = [one for one in self.dispersions if isinstance(one, NumberDispersion)]
        scores = all_scores(self.seed, [one.name for one in numbers], begin, end)
        related = _related(scores, correlation_factor(self.dispersions, self.correlations))
        columns = []
        for one in self.dispersions:
            if isinstance(one, NumberDispersion):
                values = one.values(related[:, numbers.index(one)])
                one.put(values, draft)
                columns.append(values[:, None])
            elif isinstance(one, WindDispersion):
                columns.append(self._blown(one, begin, end, draft))
            elif isinstance(one, ProfileDispersion):
                columns.append(one.put_draws(self.seed, begin, end, draft))
        inputs = np.concatenate(columns, axis=1) if columns else np.zeros((end - begin, 0))
        return Draws(deviations=draft.deviations(), inputs=inputs)

    def _blown(
        self, wind: WindDispersion, begin: int, end: int, draft: DeviationsDraft
    ) -> Floats:
        air = self.mission.body.atmosphere
        drawn = wind.drawn(self.seed, begin, end, None if air is None else air.wind)
        draft.add_wind(drawn.altitude, drawn.eastward, drawn.northward)
        return drawn.means()


def _related(scores: Floats, factor: Floats) -> Floats:
    """Scores (n, m) through the factor (m, m) of their correlations.

    Column by column, each sum in the order of the columns: a product of matrices would be summed in
    another order, and rounded otherwise, for another number of draws.
    """
    found = np.zeros_like(scores)
    for column, row in enumerate(factor):
        for k in np.flatnonzero(row):
            found[:, column] += row[k] * scores[:, k]
    return found
