"""CasADi functions called through memory that we own."""

from __future__ import annotations

from typing import Any

import casadi as ca
import numpy as np

from ascentopt.typing import Floats


class BufferedFunction:
    """A function of dense columns with one dense result: fill `given`, call, read `found`.

    A call takes half a microsecond and what the arithmetic takes; the usual call, with conversion
    of its arguments, takes ten times that. Not to be shared by threads.

    Attributes:
        given: one array for each input, to be written into.
        found: the result, overwritten by every call.
    """

    def __init__(self, function: ca.Function) -> None:
        self.given = tuple(np.zeros(function.numel_in(k)) for k in range(function.n_in()))
        self.found: Floats = np.zeros(function.numel_out(0))
        # The buffer keeps the function, and the views keep the arrays, alive.
        buffer: Any
        evaluate: Any
        buffer, evaluate = function.buffer()
        views: list[Any] = [memoryview(array) for array in (*self.given, self.found)]  # type: ignore[arg-type]
        for place, view in enumerate(views[:-1]):
            buffer.set_arg(place, view)
        buffer.set_res(0, views[-1])
        self._buffer = buffer
        self.evaluate = evaluate
