"""Draws as scores of the standard normal distribution, each from a counter of its own.

The score of a quantity in draw k is made of the k-th word of a counter-based generator (Philox:
J. K. Salmon et al., Parallel random numbers: as easy as 1, 2, 3, SC'11) whose key is the seed and
the quantity's name. It hangs on these three alone: not on how many draws are made, in which order,
by how many processes, nor on what else scatters. Only the generator's words are used, which NumPy
keeps from version to version, and one word for each score.

The draws are independent, as order statistics need them: no Latin hypercube, no antithetic pairs.

Scores of two quantities may be correlated: those of all that are go through the Cholesky factor of
their matrix. Through the quantile functions of their distributions that is a Gaussian copula: for
two normal ones the coefficient is their correlation itself; for others the rank correlation is
(6/pi) asin(coefficient/2).
"""

from __future__ import annotations

from collections.abc import Sequence
from hashlib import blake2b

import numpy as np

from ascentopt.typing import Floats

_BITS = 52
_WORDS = 4  # of the generator to one count of its counter


def scores(seed: int, name: str, begin: int, end: int) -> Floats:
    """(end - begin,) of draws ``begin`` to ``end`` - 1 of a quantity, by its name."""
    # Imported here: SciPy takes longer to import than everything else together.
    from scipy.special import ndtri

    own = int.from_bytes(blake2b(name.encode(), digest_size=8).digest(), "little")
    generator = np.random.Philox(key=np.array([seed, own], dtype=np.uint64))
    generator.advance(begin // _WORDS)
    words = np.asarray(generator.random_raw(end - begin + begin % _WORDS))[begin % _WORDS :]
    # In the middle of each of 2^52 equal parts, which is exact, as is what is left to one.
    shares = ((words >> np.uint64(64 - _BITS)).astype(np.float64) + 0.5) * 2.0**-_BITS
    return np.asarray(np.where(shares < 0.5, ndtri(shares), -ndtri(1.0 - shares)))


def all_scores(seed: int, names: Sequence[str], begin: int, end: int) -> Floats:
    """(end - begin, names) likewise of many."""
    columns = [scores(seed, name, begin, end) for name in names]
    return np.stack(columns, axis=1) if columns else np.zeros((end - begin, 0))
