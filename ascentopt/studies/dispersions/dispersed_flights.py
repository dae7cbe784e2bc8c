"""Flights on days that differ, as the user is given them."""

from __future__ import annotations

from contextlib import suppress
from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.guided.outcomes import End, Outcomes
from ascentopt.numerics.order_statistics import check_share, covered_share
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.persistence import SavedResult
from ascentopt.studies.dispersions.by_partials import column_gains, first_order
from ascentopt.studies.dispersions.importance import Importance, importance_of
from ascentopt.studies.dispersions.load_shares import LoadShares, limits_of, load_shares
from ascentopt.studies.dispersions.outcome_table import (
    OUTCOMES,
    drawn_numbers,
    outcome_cells,
    sound,
)
from ascentopt.studies.dispersions.reserve import (
    DispersionReserve,
    FirstOrder,
    needed_by_share,
)
from ascentopt.studies.dispersions.scatter.correlation import Correlation
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.studies.dispersions.told import summary
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.typing import Floats

_AGAIN = 8
"""Flights that `verify` flies again, evenly spread from the worst to the best."""

_SAME = 1e-6  # kg of propellant: what another processor's rounding may make of a flight


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class DispersedFlights(SavedResult, Tabular):
    """Flights of an ascent, each on a day of its own.

    Args:
        ascent: what was to be flown: its table through the air, guidance into its orbit.
        dispersions: what scatters.
        correlations: between numbers among them.
        seed: of the draws.
        count: flights that were asked for.
        inputs: (n, columns) what was drawn, in the units of `input_columns`; n is less than `count`
            where the work was stopped.
        outcomes: what became of the n flights.
        nominal: of the one flight in which nothing is off.
    """

    ascent: Ascent
    dispersions: tuple[Dispersion, ...]
    correlations: tuple[Correlation, ...]
    seed: int
    count: int
    inputs: Floats
    outcomes: Outcomes
    nominal: Outcomes

    _form: ClassVar = "dispersed flights"
    _version: ClassVar = 1
    _unsigned: ClassVar = 0

    def __post_init__(self) -> None:
        super().__post_init__()
        object.__setattr__(self, "inputs", drawn_numbers(self.inputs, len(self.draw.columns)))
        object.__setattr__(self, "outcomes", sound("outcomes", self.outcomes, len(self.inputs)))
        object.__setattr__(self, "nominal", sound("nominal", self.nominal, 1))

    def __len__(self) -> int:
        """Flights that are flown."""
        return len(self.outcomes)

    @property
    def draw(self) -> Draw:
        """What makes the draws."""
        return Draw.of(self.ascent, self.dispersions, self.correlations, self.seed)

    @property
    def margins(self) -> Floats:
        """(n,) kg left beyond the mission's reserve; negative = missing, nan = fell."""
        return self.outcomes.margin

    @property
    def nominal_margin(self) -> float:
        """Kilograms that the flight leaves in which nothing is off."""
        return float(self.nominal.margin[0])

    @property
    def in_orbit(self) -> int:
        """How many flights were cut off in the orbit."""
        return self._ended(End.IN_ORBIT)

    @property
    def short(self) -> int:
        """How many ran out of propellant before."""
        return self._ended(End.SHORT)

    @property
    def fell(self) -> int:
        """How many came down to the ground on the way."""
        return self._ended(End.FELL)

    def _ended(self, end: End) -> int:
        return int(np.sum(self.outcomes.end == end))

    @property
    def first_order(self) -> FirstOrder:
        """What the partials of the optimum say of the scatter."""
        return first_order(
            self.ascent, self.dispersions, self.correlations, self.loads().rows
        )

    def reserve(self, share: float = 0.9973, confidence: float = 0.9) -> DispersionReserve:
        """The propellant that the nominal flight must leave so that a share of flights has enough.

        By order statistics, which ask nothing of the distribution; beside it what the partials say,
        were all normal. The worst of the flights decide, so that the share is one of such days.

        Args:
            share: of the flights.
            confidence: that it is enough for so many; one less the consumer's risk.

        Raises:
            InputError: where these flights are too few to show that, naming the least number, or
                more fall to the ground than may fail.
        """
        mass, failures = needed_by_share(self.margins, self.nominal_margin, share, confidence)
        return DispersionReserve(
            share=share, confidence=confidence, mass=mass, nominal=self.nominal_margin,
            draws=len(self), failures=failures, first_order=self.first_order,
        )  # fmt: skip

    def shown(self, confidence: float = 0.9) -> float:
        """The share of flights that reaches the orbit with what is aboard, with confidence.

        Raises:
            InputError: for a confidence that is not between 0 and 1.
        """
        return covered_share(len(self), len(self) - self.in_orbit, confidence)

    def importance(self) -> Importance:
        """Which input matters most for the propellant left: by rank, by regression, by partials.

        Raises:
            InputError: for too few flights to tell the inputs apart.
        """
        names = [name for name, _ in self.draw.columns]
        gains = column_gains(self.dispersions, self.ascent)
        return importance_of(names, self.inputs, self.margins, gains)

    def loads(self, share: float = 0.99, confidence: float = 0.9) -> LoadShares:
        """Greatest loads beside their limits.

        Args:
            share: of the flights that the column `high` is of.
            confidence: of the share that is shown to keep each limit.

        Raises:
            InputError: for shares that are not between 0 and 1.
        """
        check_share("loads", share, confidence)
        vehicle, limits = self.ascent.vehicle, self.ascent.mission.limits
        return load_shares(
            self.outcomes.loads, limits_of(limits, vehicle.max_heating), share, confidence
        )

    def verify(self) -> Verification:
        """Fly some of the flights again, from the worst to the best, and the nominal one.

        What was drawn is drawn again as well. That the guidance is what a vehicle would fly is
        beyond a second flight.
        """
        draw, flight = self.draw, DispersedFlight.of(self.ascent)
        order = np.argsort(np.nan_to_num(self.margins, nan=-np.inf), kind="stable")
        chosen = order[np.unique(np.linspace(0, len(order) - 1, _AGAIN).astype(int))]
        checks = [self._check("nominal flight", self.nominal_margin, flight.fly(flight.nominal))]
        objections = []
        for k in map(int, chosen):
            again = draw(k, k + 1)
            if not np.allclose(again.inputs[0], self.inputs[k], rtol=1e-12, atol=1e-15):
                objections.append(f"draw {k} is not what the seed draws")
            found = flight.fly(again.deviations)
            checks.append(self._check(f"draw {k}", float(self.margins[k]), found))
        return Verification(
            subject=f"{len(self)} dispersed flights", checks=tuple(checks),
            objections=tuple(objections),
            unchecked=(f"{len(self) - len(chosen)} flights that were not flown again",),
        )  # fmt: skip

    def _check(self, what: str, kept: float, found: Outcomes) -> Check:
        return Check(
            quantity=f"{what}: propellant left", kept=kept, found=float(found.margin[0]),
            tolerance=_SAME * max(1.0, abs(kept)), unit="kg",
        )  # fmt: skip

    def to_table(self) -> Table:
        """A row for each flight: what was drawn, and what became of it."""
        columns = [("draw", ""), *self.draw.columns, *OUTCOMES]
        rows = (
            (k, *map(float, self.inputs[k]), *outcome_cells(self.outcomes, k))
            for k in range(len(self))
        )
        return Table.of(self._heading, columns, rows, notes=(f"seed {self.seed}",))

    @property
    def _heading(self) -> str:
        one = self.ascent
        what = f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}"
        return f"{what}: {len(self)} dispersed flights"

    def _repr_html_(self) -> str:
        first, *lines = str(self).splitlines()
        tables = [self.loads().to_table()]
        with suppress(InputError):  # so few flights say nothing of what matters
            tables.insert(0, self.importance().to_table())
        return page(first, lines, tables)

    def __repr__(self) -> str:
        inside = f"{self.in_orbit} of {len(self)} in orbit"
        return one_line(self, self.ascent.vehicle.name, self.ascent.mission.orbit, inside)

    def __str__(self) -> str:
        """How they ended, the propellant left beside the partials' word, loads and errors."""
        return summary(self)
