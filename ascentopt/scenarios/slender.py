"""Drag of slender vehicles against Mach number, invented."""

from __future__ import annotations

from ascentopt.rocket import Aerodynamics, DragCurve

SLENDER = DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)


def slender(area: float) -> Aerodynamics:
    """Drag of a slender vehicle with a reference area in m^2."""
    return Aerodynamics(reference_area=area, drag_coefficient=SLENDER)
