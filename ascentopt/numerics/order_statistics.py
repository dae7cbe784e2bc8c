"""What independent draws show of a share, by their order alone, whatever they are drawn from.

Of n draws at most k fail. Were the share that fails 1 - p or more, so few failures would be seen
with a chance of at most the binomial cumulative probability

    B(k; n, 1 - p) = sum over j = 0 ... k of C(n, j) (1 - p)^j p^(n - j),

so where that is the consumer's risk b or less, the draws show with confidence 1 - b that the share
p succeeds. The value that n - k of the draws keep to covers the share p with that confidence, as
the failures are those beyond it (S. S. Wilks, Ann. Math. Statist. 12 (1941) 91-96; for launch
vehicles J. M. Hanson and B. B. Beard, NASA/TP-2010-216447). The share for given n, k and b is the
bound of C. J. Clopper and E. S. Pearson, Biometrika 26 (1934) 404-413.
"""

from __future__ import annotations

from ascentopt.errors import InputError
from ascentopt.validation import counting, require

_OWNER = "order statistics"
_SHARE = "Give a share between 0 and 1, for instance 0.9973."
_CONFIDENCE = "Give a share between 0 and 1, for instance 0.9 for a consumer's risk of 10 %."


def least_draws(share: float, confidence: float, failures: int = 0) -> int:
    """How many draws it takes at least to show a share with so many failures among them.

    Raises:
        InputError: for a share or a confidence that is not between 0 and 1, or a negative count.
    """
    check_share(_OWNER, share, confidence)
    counting(_OWNER, "failures", failures, 0, "Give how many may fail.")
    few, many = failures, failures + 1
    while not _shows(many, failures, share, confidence):
        few, many = many, 2 * many
    while many - few > 1:
        middle = (few + many) // 2
        few, many = (few, middle) if _shows(middle, failures, share, confidence) else (middle, many)
    return many


def most_failures(count: int, share: float, confidence: float) -> int:
    """How many of the draws may fail at most so that they still show the share.

    Raises:
        InputError: where they are too few to show it even without any, naming the least number.
    """
    counting(_OWNER, "count", count, 1, "Give the number of draws.")
    least = least_draws(share, confidence)
    if count < least:
        raise InputError(
            f"{_OWNER}: {count} draws were made; a share of {share:g} at a confidence of "
            f"{confidence:g} takes {least} at least, and these only if none fails. Make {least} "
            f"draws or more, or ask for at most {covered_share(count, 0, confidence):.6g}."
        )
    low, high = 0, count
    while high - low > 1:
        middle = (low + high) // 2
        shown = _shows(count, middle, share, confidence)
        low, high = (middle, high) if shown else (low, middle)
    return low


def covered_share(count: int, failures: int, confidence: float) -> float:
    """The greatest share that so many draws with so many failures show (Clopper and Pearson).

    Raises:
        InputError: for counts that are none, or a confidence that is not between 0 and 1.
    """
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.special import betaincinv

    counting(_OWNER, "count", count, 1, "Give the number of draws.")
    counting(_OWNER, "failures", failures, 0, "Give how many fail.")
    _open_share(_OWNER, "confidence", confidence, _CONFIDENCE)
    if failures >= count:
        return 0.0
    return float(betaincinv(count - failures, failures + 1, 1.0 - confidence))


def check_share(owner: str, share: float, confidence: float) -> None:
    """Refuse what no draws show. Raises `InputError`."""
    _open_share(owner, "share", share, _SHARE)
    _open_share(owner, "confidence", confidence, _CONFIDENCE)


def _shows(count: int, failures: int, share: float, confidence: float) -> bool:
    from scipy.special import bdtr

    return failures < count and bool(bdtr(failures, count, 1.0 - share) <= 1.0 - confidence)


def _open_share(owner: str, name: str, value: float, fix: str) -> None:
    slip = f"It looks like per cent: write {value / 100.0:g}. " if 1.0 < value < 100.0 else ""
    require(owner, name, value, "", "above 0 and below 1", slip + fix, holds=0.0 < value < 1.0)
