"""In which plane a rule's flight ends, where the mission leaves that to the heading."""

from __future__ import annotations

from math import pi

from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.units import deg
from ascentopt.world.orbital_elements import elements

_ASIDE = 10.0 * deg
"""Beyond the pad's latitude: so far aside a flight to the east has lost a sixtieth of the spin."""


def plane_told(flight: RuleFlight, closed: ClosedRuleFlight) -> str:
    """What is said of a flight that leaves the plane of one to the east; empty for others.

    Without an inclination asked for a rule tips over to the east. With propellant to waste a flight
    pitched beyond the vertical may turn aside, or back to the west.
    """
    if flight.mission.orbit.inclination is not None:
        return ""
    mu, end = flight.mission.body.gravitational_parameter, closed.end.state
    found = elements(mu, end[:3], end[3:6]).inclination
    told = f"the orbit's inclination is {found / deg:.1f} deg"
    if found > 0.5 * pi:
        return f"it turns back and flies westward: {told}"
    aside = found - abs(flight.mission.site.latitude)
    return f"it turns aside from the east: {told}" if aside > _ASIDE else ""
