"""How many flights it takes to say something of a share of them."""

from __future__ import annotations

from ascentopt.arguments import checked
from ascentopt.numerics.order_statistics import least_draws


@checked
def least_flights(share: float, confidence: float = 0.9, *, failures: int = 0) -> int:
    """The least count for `disperse` whose flights show a share, with so many failures at most.

    Args:
        share: of all flights, for instance 0.9973.
        confidence: that so many succeed; one less the consumer's risk.
        failures: among the flights. With more failures allowed it takes more flights, and the
            answer is less at the mercy of the very worst ones.

    Raises:
        InputError: for shares that are not between 0 and 1, or a negative count.
    """
    return least_draws(share, confidence, failures)
