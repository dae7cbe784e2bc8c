"""A compiled function over many rows at once: each row is evaluated as if it were alone."""

from __future__ import annotations

from collections import OrderedDict

import casadi as ca
import numpy as np

from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Floats

_KEPT = 16
"""Numbers of rows for which memory is kept: draws drop out of an arc a few at a time."""


class OverRows:
    """A function of columns with one column as result, over (N, k) arrays; not for two threads."""

    def __init__(self, function: ca.Function) -> None:
        self._function = function
        self._made: OrderedDict[int, BufferedFunction] = OrderedDict()

    def __call__(self, *given: Floats) -> Floats:
        """(N, m) of arrays (N, k), one for each input."""
        count = len(given[0])
        mapped = self._for(count)
        for place, array in zip(mapped.given, given, strict=True):
            place[:] = array.ravel()
        mapped.evaluate()
        found: Floats = mapped.found.reshape(count, -1).copy()
        return found

    def _for(self, count: int) -> BufferedFunction:
        made = self._made.pop(count, None)
        if made is None:
            made = BufferedFunction(self._function.map(count))
        self._made[count] = made
        if len(self._made) > _KEPT:
            self._made.popitem(last=False)
        return made


def dot(a: Floats, b: Floats) -> Floats:
    """(N,) products of rows."""
    return np.asarray(np.einsum("ij,ij->i", a, b))


def unit(a: Floats) -> Floats:
    """(N, 3) rows brought to length one; zero rows stay."""
    length = np.sqrt(dot(a, a))
    return np.asarray(a / np.where(length > 0.0, length, 1.0)[:, None])
