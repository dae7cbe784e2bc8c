"""What each number of the description costs in propellant: its partial derivatives."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.arguments import checked_kinds
from ascentopt.collocation import Envelope, Problem
from ascentopt.errors import InputError
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.perturbations import STEP, Case, Variation, variations
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, one_line

NOTHING = 0.01
"""kg. A limit that is worth less than this in all, partial times limit, is not active: what there
is is the push of the solver's barrier, whose parameter is 1e-7 of the final mass or less."""


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Partial(Result):
    """What one unit more of a number costs, to first order.

    Every other number of the description stays, and the flight is optimal again.

    Args:
        quantity: what changes.
        unit: the unit of it that the partial is for.
        propellant: kg more that are used, negative where it saves some.
        margin: kg more that are left in the stage that reaches the orbit. It is minus
            ``propellant`` but for a number that is itself propellant aboard. Where no engine can be
            cut off, all is burned and it is the kg more that the flight carries as ballast.
    """

    quantity: str
    unit: str
    propellant: float
    margin: float

    def __repr__(self) -> str:
        told = f"{self.propellant:.4g} kg used", f"{self.margin:.4g} kg left"
        return one_line(self, repr(self.quantity), *told, f"per {self.unit}")

    def __str__(self) -> str:
        return f"{self.quantity:44}{self.propellant:12.4g}{self.margin:12.4g}  per {self.unit}"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class NoPartial(Result):
    """A number without a partial, and why."""

    quantity: str
    reason: str

    def __repr__(self) -> str:
        return one_line(self, repr(self.quantity), self.reason)

    def __str__(self) -> str:
        return f"{self.quantity}: {self.reason}"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Partials(Result, Tabular):
    """The partials of a mission's and a vehicle's numbers, and those that have none.

    They are slopes at the optimum, of its structure and with its active limits: exact there, and
    good for changes that leave both as they are. A limit that is not active has a partial of zero.
    An orbit that is barely as inclined as the site's latitude is where they change fastest.
    """

    rows: tuple[Partial, ...]
    missing: tuple[NoPartial, ...]

    @classmethod
    def unknown(cls, reason: str) -> Partials:
        """No partials at all, and why."""
        return cls(rows=(), missing=(NoPartial(quantity="every number", reason=reason),))

    def __iter__(self) -> Iterator[Partial]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    def __getitem__(self, quantity: str) -> Partial:
        """The partial of this quantity; KeyError with why there is none."""
        for row in self.rows:
            if row.quantity == quantity:
                return row
        for other in self.missing:
            if other.quantity == quantity:
                raise KeyError(f"no partial of {other}")
        raise KeyError(
            f"no partial of {quantity!r}; there are {[row.quantity for row in self.rows]}"
        )

    def to_table(self) -> Table:
        """A row for each number: kg more that are used and left for one unit more of it.

        Numbers without a partial come last, with the reason.
        """
        columns = (
            ("one_unit_more_of", ""), ("unit", ""), ("propellant", "kg per unit"),
            ("margin", "kg per unit"), ("without_a_partial", ""),
        )  # fmt: skip
        known = [(row.quantity, row.unit, row.propellant, row.margin, "") for row in self.rows]
        missing = [(one.quantity, "", None, None, one.reason) for one in self.missing]
        return Table.of("partials", columns, [*known, *missing])

    def __repr__(self) -> str:
        return one_line(self, f"{len(self)} numbers", f"{len(self.missing)} without a partial")

    def __str__(self) -> str:
        head = f"{'one unit more of':44}{'used':>12}{'left':>12}"
        lines = [head, f"{'':44}{'kg':>12}{'kg':>12}", *(str(row) for row in self.rows)]
        if self.missing:
            lines += ["without a partial", *(f"  {other}" for other in self.missing)]
        return "\n".join(lines)


def partials_of(case: Case, attempt: Attempt) -> Partials:
    """The partial of every number of the case at its solution, without solving again."""
    slopes = _Slopes(case, attempt, Envelope.of(attempt.found))
    found = [slopes.partial(variation) for variation in variations(case)]
    missing = [one for one in found if isinstance(one, NoPartial)]
    if case.mission.orbit.inclination is None:
        reason = "it is free: the optimum has chosen the one that costs least"
        missing.append(NoPartial(quantity="inclination", reason=reason))
    return Partials(rows=tuple(p for p in found if isinstance(p, Partial)), missing=tuple(missing))


@dataclass(frozen=True)
class _Slopes:
    case: Case
    attempt: Attempt
    envelope: Envelope

    def partial(self, variation: Variation) -> Partial | NoPartial:
        """Forward where the description allows more, else backward."""
        for step in (STEP, -STEP):
            try:
                changed = variation.changed(step)
            except InputError:
                continue
            return self._slope(variation, changed, step)
        reason = "the description allows neither more nor less of it"
        return NoPartial(quantity=variation.quantity, reason=reason)

    def _slope(self, variation: Variation, changed: Case, step: float) -> Partial | NoPartial:
        sequence = sequence_of(changed.vehicle, changed.mission, self.attempt.plan)
        gained = None
        if sequence.names == self.attempt.sequence.names:
            gained = self.envelope.change(self._problem(changed, sequence))
        if gained is None:
            reason = "the least change of it makes another sequence of arcs"
            return NoPartial(quantity=variation.quantity, reason=reason)
        lighter = sequence.propellant_left(0.0) - self.attempt.sequence.propellant_left(0.0)
        loaded = changed.vehicle.propellant_mass - self.case.vehicle.propellant_mass
        kept = sequence.reserve - self.attempt.sequence.reserve
        left = (gained + lighter) / step  # ballast where no engine can be cut off
        ballasted = self.attempt.sequence.ballasted
        if variation.limit is not None and abs(left * variation.limit) < NOTHING:
            left = 0.0
        return Partial(
            quantity=variation.quantity,
            unit=variation.unit,
            propellant=(loaded - kept) / step - (0.0 if ballasted else left),
            margin=left,
        )

    def _problem(self, changed: Case, sequence: Sequence) -> Problem:
        """The problem of the changed case, on the meshes and with the lead of the solved one."""
        found = self.attempt.found
        told = self.attempt.transcription_of(changed.vehicle, changed.mission, sequence, found)
        return replace(
            told.greatest_mass_problem(), parameter_values=found.problem.parameter_values
        )
