"""What a flight counts as where numbers are chosen: propellant, limits, debts and edges."""

from __future__ import annotations

from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight

LIMIT_WEIGHT = 1.0
"""Part of all propellant that a limit exceeded by 100 per cent counts as in tuning."""

DEBT_WEIGHT = 1000.0
"""How many times dearer than a limit exceeded by its like is a share of the propellant that is
missing: a flight that owes a kilogram reaches no orbit, one that breaks a limit does."""

MARGIN_WEIGHT = 1000.0
"""How many times all propellant a second or a kilometre beyond what can be flown counts as: no
limit that is broken may hide that there is no such flight."""

_KEPT = 0.003  # s or km: how far from an edge a model's lowest place is to be
_ROOMY = 100.0  # s or km; more room tells nothing


def cost_of(flight: RuleFlight, closed: ClosedRuleFlight) -> float:
    """Propellant in kg, and what owing some, or exceeding the mission's limits, counts as."""
    excess = max(0.0, max(ratios_with_debt(flight, closed)) - 1.0)
    return closed.propellant_used + LIMIT_WEIGHT * flight.vehicle.propellant_mass * excess


def ratios_with_debt(flight: RuleFlight, closed: ClosedRuleFlight) -> list[float]:
    """What must not exceed one: of each load to its limit, and of what is owed (`DEBT_WEIGHT`)."""
    left = flight.propellant_margin(closed) / flight.vehicle.propellant_mass
    return [*load_ratios(flight, closed), 1.0 - DEBT_WEIGHT * left]


def load_ratio(flight: RuleFlight, closed: ClosedRuleFlight) -> float:
    """Greatest ratio of a load to its limit; zero without limits."""
    return max([0.0, *load_ratios(flight, closed)])


def load_ratios(flight: RuleFlight, closed: ClosedRuleFlight) -> list[float]:
    """Ratio of each load that is limited to its limit."""
    limits = flight.mission.limits
    pairs = zip(
        closed.end.peaks,
        (limits.dynamic_pressure, limits.q_alpha, limits.axial_acceleration),
        strict=True,
    )
    return [peak / limit for peak, limit in pairs if limit is not None]


def margin_ratios(closed: ClosedRuleFlight) -> list[float]:
    """What must not exceed one for each edge of what can be flown."""
    return [1.0 - MARGIN_WEIGHT * (min(room.left, _ROOMY) - _KEPT) for room in closed.margins]
