"""The greatest payload where stages stay unlit: of structures that light them, begun above it."""

from __future__ import annotations

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.solve import Designed
from ascentopt.optimal.payload.freed import NARROW, FreedPayload
from ascentopt.optimal.payload.start import Structures, may_fly, usual_payload

Found = tuple[Designed, list[Attempt]]
"""A greatest payload, and the structures that were solved for next to where it was begun."""


def with_stages_lit(freed: FreedPayload, found: Found, structures: Structures) -> Found:
    """A greatest payload; a heavier one where stages that it leaves unlit carry one.

    What leaves a stage unlit uses less propellant than all that light it, so that no comparison
    at a payload which flies so tells of those. With more the tank below is too small, and nothing
    else is left: with what usual ascents carry, or a little more.

    Args:
        freed: what found it.
        found: a greatest payload.
        structures: solves for them at another payload.
    """
    while True:
        heavier = _heavier(freed, found[0], structures)
        if heavier is None:
            return found
        found = heavier


def _heavier(freed: FreedPayload, found: Designed, structures: Structures) -> Found | None:
    """One that lights more stages; None where all are lit, or another than the tank holds it."""
    unlit, payload = found.attempt.plan.unlit, found.vehicle.payload_mass
    if not unlit or found.payload_for_left_over == 0.0:
        return None
    above = (1.0 + NARROW) * payload
    for more in sorted({above, usual_payload(freed.task, freed.reserve)}, reverse=True):
        task = freed.carrying(more)
        attempts = structures(task) if more >= above and may_fly(task) else []
        lit = freed.designed(task, [one for one in attempts if one.plan.unlit < unlit])
        if lit is not None and lit.vehicle.payload_mass > payload:
            return lit, attempts
    return None
