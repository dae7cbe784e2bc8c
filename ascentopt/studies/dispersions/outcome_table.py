"""What became of a flight, as cells of a table."""

from __future__ import annotations

from ascentopt.guided.outcomes import End, Outcomes

OUTCOMES = (
    ("end", ""), ("propellant_left", "kg"), ("propellant_missing", "kg"), ("time", "s"),
    ("dynamic_pressure", "Pa"), ("q_alpha", "Pa rad"), ("axial_acceleration", "m/s^2"),
    ("heating", "W/m^2"), ("periapsis_altitude", "m"), ("apoapsis_altitude", "m"),
    ("inclination", "rad"), ("radius_off", "m"), ("climb_off", "m/s"), ("speed_off", "m/s"),
    ("out_of_plane", "m"), ("drift", "m/s"),
)  # fmt: skip
"""Columns: names and units."""

_ENDS = {End.IN_ORBIT: "in orbit", End.SHORT: "short of propellant", End.FELL: "fell"}


def outcome_cells(found: Outcomes, k: int) -> tuple[object, ...]:
    """One for each column, of flight k."""
    loads, misses = found.loads, found.misses
    numbers = (
        found.propellant_left, found.missing_propellant, found.time, loads.dynamic_pressure,
        loads.q_alpha, loads.axial_acceleration, loads.heating, found.periapsis, found.apoapsis,
        found.inclination, misses.radius, misses.climb, misses.speed, misses.out_of_plane,
        misses.drift,
    )  # fmt: skip
    return end_told(found, k), *(float(one[k]) for one in numbers)


def end_told(found: Outcomes, k: int) -> str:
    """How flight k ended, in words."""
    return _ENDS[End(int(found.end[k]))]
