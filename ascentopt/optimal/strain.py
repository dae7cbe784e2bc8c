"""By how much the limits on loads must be raised before a vehicle flies, and what raises them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.collocation import Envelope, Problem
from ascentopt.errors import InputError
from ascentopt.flight.builder import sequence_of
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.easing import Eased
from ascentopt.optimal.variations import Case, variations

STEP = 1e-3
"""Units by which a limit is changed, as for prices: the Lagrangian is smooth."""

NOTHING = 0.01
"""A limit whose doubling would lower the common factor by less than this does not act."""


LOADS = tuple(f"limit on {name}" for name in ("dynamic pressure", "q alpha", "angle of attack"))
"""Limits that are raised, as `variations` calls them."""


@dataclass(frozen=True, kw_only=True)
class Hold:
    """A limit that holds the others back.

    ``allowed`` is what it is, in its unit; ``gain`` the share by which the loads exceed their
    limits less for one unit more of it.
    """

    limit: str
    unit: str
    allowed: float
    gain: float

    def raised(self, factor: float) -> str:
        """What it must be raised to, in words."""
        name = self.limit.removeprefix("limit on ")
        return f"{name} {factor * self.allowed:.4g} {self.unit} (limit {self.allowed:.4g})"

    def __str__(self) -> str:
        return f"{self.limit}: {100.0 * self.gain:.2g} % per {self.unit}"


@dataclass(frozen=True, kw_only=True)
class Strain:
    """Of the flight that strains the limits on loads least, all multiplied by one factor.

    Args:
        factor: that one.
        holds: the limits that act on it, the most helpful first.
        anywhere: whether every flight strains them so, wherever it ends; otherwise those that
            reach the orbit.
    """

    factor: float
    holds: tuple[Hold, ...]
    anywhere: bool

    def __str__(self) -> str:
        what = "Every flight, wherever it ends," if self.anywhere else "A flight to the orbit"
        loads = ", ".join(hold.raised(self.factor) for hold in self.holds if hold.limit in LOADS)
        gains = "; ".join(map(str, self.holds))
        return (
            f"{what} goes beyond the limits by about {100.0 * (self.factor - 1.0):.3g} % at least: "
            f"{loads}. Relaxing one takes off {gains}."
        )


def strain_of(case: Case, attempt: Attempt) -> Strain | None:
    """What the mildest flight of an attempt says; None where there is none."""
    eased = attempt.barred or attempt.mildest
    if eased is None:
        return None
    holds = sorted(_holds(case, attempt, eased), key=lambda one: -one.gain)
    return Strain(factor=eased.factor, holds=tuple(holds), anywhere=attempt.barred is not None)


def _holds(case: Case, attempt: Attempt, eased: Eased) -> Iterator[Hold]:
    envelope, problem = Envelope.of(eased.solution), eased.solution.problem
    price = problem.parameter_values[-1] * problem.objective.sign
    for variation in variations(case):
        if variation.limit is None:
            continue
        try:
            changed = _changed(attempt, eased, variation.changed(STEP))
        except InputError:
            continue
        gain = -eased.factor * (envelope.change(changed) or 0.0) / (price * STEP)
        if gain * variation.limit > NOTHING:
            yield Hold(
                limit=variation.quantity, unit=variation.unit, allowed=variation.limit, gain=gain
            )


def _changed(attempt: Attempt, eased: Eased, case: Case) -> Problem:
    """The eased program of a changed case."""
    sequence, problem = (
        sequence_of(case.vehicle, case.mission, attempt.plan),
        eased.solution.problem,
    )
    flight = replace(eased.flight, vehicle=case.vehicle, mission=case.mission, sequence=sequence)
    written = flight.most_mass() if problem.objective.maximise else flight.least_impulse()
    return replace(written, parameter_values=problem.parameter_values)
