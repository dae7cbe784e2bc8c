"""The trapezoid rule."""

from __future__ import annotations

from ascentopt.typing import Floats


def trapezoid(values: Floats, step: float) -> float:
    """Integral of what has these values at places a ``step`` apart.

    Written out, since a body is made before anything else: SciPy's would be imported for it, which
    takes longer than all else that is done then, and NumPy's has another name before 2.0.
    """
    return step * float(values.sum() - 0.5 * (values[0] + values[-1]))
