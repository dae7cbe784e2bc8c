"""From ideal delta-v to payload and back, by the rocket equation."""

from __future__ import annotations

from dataclasses import replace

from ascentopt.optimal.bounds.unburned import ideal_delta_v_within, payload_of_most_delta_v
from ascentopt.rocket import Vehicle


def ideal_delta_v(vehicle: Vehicle, kept: float, limit: float | None) -> float:
    """Ideal delta-v in m/s with so many kg of the last stage's propellant as dead weight.

    Within a limit on acceleration, m/s^2.
    """
    if kept <= 0.0:
        return ideal_delta_v_within(vehicle, limit)
    *below, last = vehicle.stages
    dry, burned = last.dry_mass + kept, last.propellant_mass - kept
    stages = (*below, replace(last, dry_mass=dry, propellant_mass=burned))
    return ideal_delta_v_within(replace(vehicle, stages=stages), limit)


def payload_with(vehicle: Vehicle, gain: float, kept: float, limit: float | None) -> float | None:
    """Payload in kg with which the ideal delta-v is ``gain`` m/s more; None where there is none.

    The heavier one of two, where with less of it more propellant stays unburned.
    """
    from scipy.optimize import brentq

    wanted = ideal_delta_v(vehicle, kept, limit) + gain

    def beyond(payload: float) -> float:
        return ideal_delta_v(replace(vehicle, payload_mass=payload), kept, limit) - wanted

    least, most = payload_of_most_delta_v(vehicle, limit), 10.0 * vehicle.lift_off_mass
    if beyond(least) <= 0.0 or beyond(most) >= 0.0:
        return None
    return float(brentq(beyond, least, most))
