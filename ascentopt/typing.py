"""Names for the types that the packages we build on do not state."""

from __future__ import annotations

from typing import Any

Expr = Any
"""A CasADi SX, MX or DM value (CasADi ships no type information)."""

Value = Any
"""A float, a NumPy array or an `Expr`: what the physics takes and gives back in kind."""
