"""How long arcs last before anything is solved: at full throttle, to the end of what may burn."""

from __future__ import annotations

from math import sqrt

import numpy as np

from ascentopt.flight.phases.sequence import FlightArc, Sequence


def nominal_durations(arcs: tuple[FlightArc, ...], sequence: Sequence) -> list[float]:
    """Lengths of arcs at full throttle: complete burns, the rise as long as it takes."""
    found: list[float] = []
    mass = sequence.mass
    for k, arc in enumerate(arcs):
        flow = _flow(arc)
        found.append(_nominal(arc, k, found, sequence, (mass - arc.least_mass, flow)))
        mass = arc.joint.mass(mass - flow * found[-1])
    return found


def _flow(arc: FlightArc) -> float:
    """Propellant flow in kg/s at full throttle, that of solid motors averaged over their burns."""
    if not arc.burning:
        return 0.0
    core = 1.0 if arc.kind.core_curve is None else arc.kind.core_curve.mass_flow
    sides = sum(count * motor.mass_flow for motor, count in arc.kind.side_curves)
    return arc.parameters.mass_flow * core + arc.parameters.side_mass_flow + sides


def _nominal(
    arc: FlightArc, k: int, before: list[float], sequence: Sequence, tank: tuple[float, float]
) -> float:
    """Length of arc ``k``; ``tank`` holds what can still be burned, kg, and the flow, kg/s."""
    if arc.fixed:
        return arc.duration[0]
    if arc.rise is not None:
        return min(_rise_time(arc, sequence), 0.5 * arc.duration[1])
    for span in sequence.spans:
        if span.last == k + 1 and span.shortest == span.longest:
            return max(span.longest - sum(before[span.first :]), 1.0)
    if not arc.burning:
        return max(arc.duration[0], 1.0)
    left, flow = tank
    return float(min(max(left / flow, 1.0), arc.duration[1]))


def _rise_time(arc: FlightArc, sequence: Sequence) -> float:
    """Seconds to gain the height at the acceleration of lift-off."""
    weight = arc.kind.body.gravitational_parameter / float(np.sum(np.square(sequence.position)))
    own, core = arc.parameters, arc.kind.core_curve
    thrust = own.thrust if core is None else core.mean_thrust
    thrust += own.side_thrust + sum(n * m.mean_thrust for m, n in arc.kind.side_curves)
    push = max(thrust / sequence.mass - weight, 0.05 * weight)
    return sqrt(2.0 * (arc.rise or 0.0) / push)
