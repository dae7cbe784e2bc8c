"""The parameters of an arc, from what burns on it and the shape of what flies."""

from __future__ import annotations

from collections.abc import Sequence

from ascentopt.flight.phases.arc_kind import ArcParameters
from ascentopt.rocket import Aerodynamics, BoosterGroup, DragCurve, SolidMotor
from ascentopt.rocket.engine import Propulsion


def arc_parameters(
    engine: Propulsion | None,
    aerodynamics: Aerodynamics | None,
    groups: Sequence[BoosterGroup] = (),
    ignition: float = 0.0,
) -> ArcParameters[float]:
    """Of an arc on which a core and groups of boosters burn.

    Args:
        engine: of the core; None where it does not burn.
        aerodynamics: None without drag.
        groups: that burn beside it.
        ignition: of a solid core, s.
    """
    steady = [g for g in groups if not isinstance(g.engine, SolidMotor)]
    solid = [g for g in groups if isinstance(g.engine, SolidMotor)]
    thrust, flow, exit_area = _of_core(engine)
    area, drag, slope = _of_shape(aerodynamics)
    return ArcParameters(
        thrust=thrust,
        mass_flow=flow,
        exit_area=exit_area,
        side_thrust=sum((g.count * g.engine.mean_thrust for g in steady), 0.0),
        side_mass_flow=sum((g.count * g.engine.mass_flow for g in steady), 0.0),
        side_exit_area=sum((g.count * g.engine.effective_exit_area for g in groups), 0.0),
        reference_area=area,
        drag_factor=drag,
        normal_force_slope=slope,
        core_ignition=ignition,
        side_ignitions=tuple(g.ignition_time for g in solid),
    )


def _of_core(engine: Propulsion | None) -> tuple[float, float, float]:
    """Thrust, flow and exit area; for a solid motor factors of one on its curves."""
    if engine is None:
        return 0.0, 0.0, 0.0
    area = engine.effective_exit_area
    if isinstance(engine, SolidMotor):
        return 1.0, 1.0, area
    return engine.mean_thrust, engine.mass_flow, area


def _of_shape(aerodynamics: Aerodynamics | None) -> tuple[float, float, float]:
    """Reference area, drag factor and slope of the normal force."""
    if aerodynamics is None:
        return 0.0, 0.0, 0.0
    drag = aerodynamics.drag_coefficient
    factor = 1.0 if isinstance(drag, DragCurve) else float(drag)
    return aerodynamics.reference_area, factor, aerodynamics.normal_force_slope
