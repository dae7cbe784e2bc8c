"""Limits of a mission and of a fairing that a flight exceeds, read off its trajectory."""

from __future__ import annotations

from collections.abc import Iterator

import numpy as np

from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.mission import FlightLimits

_SLACK = 1e-3
"""Part of a limit by which a peak between samples may pass it and still count as kept."""

ATTACK_MATTERS = 1000.0
"""Pa of dynamic pressure above which a limit on the angle of attack is checked."""

PAYLOAD_HEATING = "heating of the payload after the fairing drop"
"""What is held against the fairing's `max_heating`; the mission has no limit of the kind."""


def broken_limits(
    flight: Flight, limits: FlightLimits, max_heating: float | None = None
) -> Iterator[Excess]:
    """Limits along the flight that it exceeds; the arguments as for `peaks`."""
    return (one for one in peaks(flight, limits, max_heating) if one.share > _SLACK)


def peaks(
    flight: Flight, limits: FlightLimits, max_heating: float | None = None
) -> Iterator[Excess]:
    """Every limit that the mission has, and the fairing's, beside the peak of the flight.

    Args:
        flight: as it was flown.
        limits: of the mission.
        max_heating: W/m^2 that the payload bears once its fairing has gone; None without one.
    """
    track = flight.trajectory
    thick = track.dynamic_pressure > ATTACK_MATTERS
    stagings = [e for e in flight.events if "separation" in e.name]
    found = (
        ("dynamic pressure", track.dynamic_pressure, limits.dynamic_pressure, "Pa"),
        ("q alpha", track.q_alpha, limits.q_alpha, "Pa rad"),
        ("angle of attack", track.angle_of_attack[thick], limits.angle_of_attack, "rad"),
        ("axial acceleration", track.axial_acceleration, limits.axial_acceleration, "m/s^2"),
        ("staging dynamic pressure", np.array([e.dynamic_pressure for e in stagings]),
         limits.staging_dynamic_pressure, "Pa"),
        ("pitch rate", np.concatenate([arc.turn_rates for arc in track.arcs]),
         limits.pitch_rate, "rad/s"),
    )  # fmt: skip
    for name, values, limit, unit in found:
        if limit is not None:
            peak = float(np.nan_to_num(values).max(initial=0.0))
            yield Excess(name=name, peak=peak, limit=limit, unit=unit)
    bare = flight.payload_heating
    if max_heating is not None and bare is not None:
        yield Excess(name=PAYLOAD_HEATING, peak=bare, limit=max_heating, unit="W/m^2")
