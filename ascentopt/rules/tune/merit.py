"""What a flight counts as where numbers are chosen: propellant, limits, debts and edges."""

from __future__ import annotations

from ascentopt.rules.evaluate.rule_flight import Closed, RuleFlight

BROKEN = 1.0
"""Part of all propellant that a limit exceeded by 100 per cent counts as in tuning."""

OWED = 1000.0
"""How many times dearer than a limit exceeded by its like is a share of the propellant that is
missing: a flight that owes a kilogram reaches no orbit, one that breaks a limit does."""

EDGE = 1000.0
"""How many times all propellant a second or a kilometre beyond what can be flown counts as: no
limit that is broken may hide that there is no such flight."""

_KEPT = 0.003  # s or km: how far from an edge a model's lowest place is to be
_ROOMY = 100.0  # s or km; more room tells nothing


def cost_of(flight: RuleFlight, closed: Closed) -> float:
    """Propellant in kg, and what owing some, or exceeding the mission's limits, counts as."""
    excess = max(0.0, max(ratios(flight, closed)) - 1.0)
    return closed.propellant_used + BROKEN * flight.vehicle.propellant_mass * excess


def ratios(flight: RuleFlight, closed: Closed) -> list[float]:
    """What must not exceed one: of each load to its limit; and of what is owed, as `OWED` says."""
    left = flight.margin(closed) / flight.vehicle.propellant_mass
    return [*load_ratios(flight, closed), 1.0 - OWED * left]


def load_ratio(flight: RuleFlight, closed: Closed) -> float:
    """Greatest ratio of a load to its limit; zero without limits."""
    return max([0.0, *load_ratios(flight, closed)])


def load_ratios(flight: RuleFlight, closed: Closed) -> list[float]:
    """Ratio of each load that is limited to its limit."""
    limits = flight.mission.limits
    pairs = zip(
        closed.end.peaks,
        (limits.dynamic_pressure, limits.q_alpha, limits.axial_acceleration),
        strict=True,
    )
    return [peak / limit for peak, limit in pairs if limit is not None]


def edges(closed: Closed) -> list[float]:
    """What must not exceed one for each edge of what can be flown."""
    return [1.0 - EDGE * (min(room.left, _ROOMY) - _KEPT) for room in closed.rooms]
