"""The propellant that a share of flights needs beyond what the nominal one does."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.numerics.order_statistics import check_share, most_failures
from ascentopt.persistence import Result
from ascentopt.tables import one_line
from ascentopt.typing import Floats


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class FirstOrder(Result):
    """The scatter of the propellant left as the partials of the optimum have it.

    Args:
        sigma: its standard deviation, kg.
        without: names of what scatters and has no partial, and is not in it.
        exceeded: names of the loads whose limits press on the optimum, so that its partials keep
            them, and that flights by the table exceed.
    """

    sigma: float
    without: tuple[str, ...] = ()
    exceeded: tuple[str, ...] = ()

    def needed(self, share: float) -> float:
        """Kilograms that a share of flights needs beyond the nominal one, were they normal."""
        # Imported here: SciPy takes longer to import than everything else together.
        from scipy.special import ndtri

        return float(ndtri(share)) * self.sigma

    def notes(self) -> Iterator[str]:
        """What is to be known beside the number, a line for each."""
        if self.without:
            yield f"without partials, and not in that: {', '.join(self.without)}"
        if self.exceeded:
            yield (
                f"the partials keep the limit on {' and '.join(self.exceeded)}, which flights by "
                "the table exceed: they foretell other flights"
            )

    def __repr__(self) -> str:
        return one_line(self, f"sigma {self.sigma:.2f} kg", f"{len(self.without)} without partials")


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class DispersionReserve(Result):
    """What a share of flights needs beyond the nominal one, by the order of the flights alone.

    Args:
        share: of the flights that it is enough for.
        confidence: that it is, whatever distribution they are drawn from.
        mass: kg of propellant that the nominal flight must leave for it.
        nominal: kg that the nominal flight leaves, flown by the same guidance.
        draws: how many flights it rests on.
        failures: how many of these it is not enough for.
        first_order: what the partials say beside it.
    """

    share: float
    confidence: float
    mass: float
    nominal: float
    draws: int
    failures: int
    first_order: FirstOrder

    @property
    def spare(self) -> float:
        """Kilograms that the nominal flight leaves beyond it; negative where it leaves too few."""
        return self.nominal - self.mass

    @property
    def by_partials(self) -> float:
        """Kilograms by the partials, were all normal; without what has no partial."""
        return self.first_order.needed(self.share)

    def __repr__(self) -> str:
        told = f"{100 * self.share:g} % at {100 * self.confidence:g} %"
        return one_line(self, told, f"{self.mass:.2f} kg", f"{self.draws} draws")

    def __str__(self) -> str:
        side = "more" if self.spare >= 0.0 else "less"
        first = self.first_order
        head = (
            f"reserve for {100 * self.share:g} % of flights at a confidence of "
            f"{100 * self.confidence:g} %: {self.mass:.2f} kg beyond the nominal flight"
        )
        flown = (
            f"  by order statistics of {self.draws} flights, {self.failures} of which need more; "
            f"the nominal one leaves {self.nominal:.2f} kg, {abs(self.spare):.2f} kg {side} than "
            "that"
        )
        partials = (
            f"  by the partials, were all normal: {self.by_partials:.2f} kg "
            f"(sigma {first.sigma:.2f} kg)"
        )
        return "\n".join([head, flown, partials, *(f"  {line}" for line in first.notes())])


def needed_by_share(
    margins: Floats, nominal: float, share: float, confidence: float
) -> tuple[float, int]:
    """Kilograms beyond the nominal flight, and how many of the flights need more.

    Args:
        margins: (n,) kg left, negative for what is missing, nan for flights that no propellant
            saves.
        nominal: kg that the nominal flight leaves.
        share, confidence: of the flights that it is to be enough for.

    Raises:
        InputError: where so few draws do not show the share, or too many flights fall.
    """
    check_share("reserve", share, confidence)
    failures = most_failures(len(margins), share, confidence)
    ordered = np.sort(np.where(np.isnan(margins), -np.inf, margins))
    bound = float(ordered[failures])
    if bound == -np.inf:
        fell = int(np.isnan(margins).sum())
        raise InputError(
            f"reserve: {fell} of {len(margins)} flights fell to the ground; at most {failures} may "
            f"for a share of {share:g} at a confidence of {confidence:g}, as no propellant saves "
            "them. Ask for a smaller share, or let less scatter."
        )
    return nominal - bound, int(np.sum(ordered < bound))


def combined(gains: Sequence[float], factor: Floats) -> float:
    """Standard deviation of a sum of correlated numbers, each of one kg per its own deviation.

    Args:
        gains: (m,) kg for a standard deviation of each number.
        factor: (m, m) lower factor of their correlations.
    """
    return float(np.linalg.norm(np.asarray(gains) @ factor)) if len(gains) else 0.0
