"""What a second flight says of a result that was kept."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import isnan

from ascentopt.arguments import checked_kinds
from ascentopt.persistence import Result
from ascentopt.tables import in_a_line, one_line, page


@dataclass(frozen=True, kw_only=True, eq=False)
class Check(Result):
    """A number as it is kept, and as it is found again.

    Args:
        quantity: what it is.
        kept, found: in `unit`; nan where it is not known.
        tolerance: by which they may differ, in `unit`.
        unit: SI.
    """

    quantity: str
    kept: float
    found: float
    tolerance: float
    unit: str = ""

    __repr__ = in_a_line

    @property
    def agrees(self) -> bool:
        """Whether they are as near as they should be; what is not known twice agrees."""
        if isnan(self.kept) or isnan(self.found):
            return isnan(self.kept) and isnan(self.found)
        return abs(self.kept - self.found) <= self.tolerance

    def __str__(self) -> str:
        numbers = f"kept {self.kept:.10g}, found {self.found:.10g} {self.unit}".rstrip()
        return f"{self.quantity}: {numbers} (may differ by {self.tolerance:.2g})"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Verification(Result):
    """A result held against an independent flight; true where nothing speaks against it.

    Args:
        subject: what was flown again.
        checks: numbers beside those of the flight.
        objections: what else speaks against it, in words.
        unchecked: what a flight says nothing of, and why.
    """

    subject: str
    checks: tuple[Check, ...]
    objections: tuple[str, ...] = ()
    unchecked: tuple[str, ...] = ()

    def __bool__(self) -> bool:
        """Whether every number agrees and there is no objection."""
        return not self.objections and not self.disagreements

    @property
    def disagreements(self) -> tuple[Check, ...]:
        """The numbers that do not agree."""
        return tuple(one for one in self.checks if not one.agrees)

    def with_part(self, part: Verification) -> Verification:
        """Both as one, what the part says under its subject."""
        return replace(
            self,
            checks=(
                *self.checks,
                *(replace(one, quantity=f"{part.subject}: {one.quantity}") for one in part.checks),
            ),
            objections=(*self.objections, *(f"{part.subject}: {one}" for one in part.objections)),
            unchecked=(*self.unchecked, *(f"{part.subject}: {one}" for one in part.unchecked)),
        )

    def __str__(self) -> str:
        verdict = "verified" if self else "NOT verified"
        agree = len(self.checks) - len(self.disagreements)
        lines = [f"{self.subject}: {verdict}; {agree} of {len(self.checks)} numbers agree"]
        lines += [f"  {one}" for one in self.objections]
        lines += [f"  does not agree: {one}" for one in self.disagreements]
        lines += [f"  not checked: {one}" for one in self.unchecked]
        return "\n".join(lines)

    def __repr__(self) -> str:
        agree = len(self.checks) - len(self.disagreements)
        told = f"{agree} of {len(self.checks)} numbers agree"
        return one_line(self, self.subject, "verified" if self else "NOT verified", told)

    def _repr_html_(self) -> str:
        first, *lines = str(self).splitlines()
        return page(first, lines)
