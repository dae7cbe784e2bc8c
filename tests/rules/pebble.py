"""A small planet, and rockets whose first stage throws its apoapsis beyond the orbit."""

from __future__ import annotations

from dataclasses import replace

import ascentopt as ao

SCENARIOS = ao.scenarios()
MISSION = SCENARIOS["pebble-strong-first"].mission
DUNLIN = SCENARIOS["pebble-strong-first"].vehicle
"""Both engines burn once. Kicked by 5 degrees at 50 m/s the first stage alone goes too high."""


def relit(*restarts: int, vehicle: ao.Vehicle = DUNLIN) -> ao.Vehicle:
    """The vehicle with stages that can be lit again so often."""
    pairs = zip(vehicle.stages, restarts, strict=True)
    return replace(vehicle, stages=tuple(replace(one, restarts=more) for one, more in pairs))


def strong_lower() -> ao.Vehicle:
    """With a first stage that all but reaches the orbit alone, and can be lit again."""
    return SCENARIOS["pebble-relit-first"].vehicle


def weak_upper() -> ao.Vehicle:
    """With an upper stage that burns longer than the coast lasts."""
    return SCENARIOS["pebble-weak-upper"].vehicle
