"""Names for what the physics takes: one formula serves floats, arrays and symbols."""

from __future__ import annotations

from typing import Annotated, Any

import numpy as np
import numpy.typing as npt

Expr = Any
"""A CasADi SX, MX or DM value. Its stubs tell the three apart; a formula for all cannot."""

Value = Annotated[Any, "a number, an array of numbers or an expression"]
"""A float, a NumPy array or an `Expr`: what the physics takes and gives back in kind."""

Floats = npt.NDArray[np.float64]
"""An array of numbers."""
