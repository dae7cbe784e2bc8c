"""By how much a cost may differ and still agree."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.validation import not_negative

DEFAULT_SHARE = 1e-5
"""Of the propellant used. Rounding moves an optimum by 1e-10 of it, finer meshes by 2e-7, or 5e-6
where a limit on loads acts (measured: benchmarks/decisions/cost-baselines.md). What differs by more
than a part in a hundred thousand is another flight."""


@checked
@dataclass(frozen=True, kw_only=True)
class CostTolerance:
    """How far from the recorded propellant agrees: `mass` kg or a `share` of it, the larger counts.

    Raises `InputError` for negative numbers, or two zeros: no two computers agree to the last bit.
    """

    mass: float = 0.0
    share: float = DEFAULT_SHARE

    def __post_init__(self) -> None:
        owner = "CostTolerance"
        not_negative(owner, "mass", self.mass, "kg", "Give kilograms of propellant, such as 1.0.")
        not_negative(owner, "share", self.share, "", "Give a part of the propellant, as 1e-5.")
        if self.share >= 1.0:
            raise InputError(
                f"{owner}: share is {self.share!r}; it must be below 1, a part of the propellant. "
                "Give for instance 1e-5, or kilograms as mass."
            )
        if not self.mass and not self.share:
            raise InputError(
                f"{owner}: mass and share are both 0; one of them must be positive, since no two "
                "computers agree to the last bit. Give for instance share=1e-5."
            )
        for name in ("mass", "share"):
            object.__setattr__(self, name, float(getattr(self, name)))

    def allowed(self, cost: float) -> float:
        """Difference in kg that agrees with a recorded cost in kg."""
        return max(self.mass, self.share * abs(cost))

    def __str__(self) -> str:
        mass = [f"{self.mass:g} kg"] if self.mass else []
        share = [f"{self.share:g} of it"] if self.share else []
        return " or ".join([*mass, *share])
