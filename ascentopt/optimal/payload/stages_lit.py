"""The greatest payload where stages stay unlit: of structures that light them, next above it."""

from __future__ import annotations

from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.design.solve import Designed
from ascentopt.optimal.payload.freed import NARROW, FreedPayload
from ascentopt.optimal.payload.start import Structures, may_fly


def with_stages_lit(
    freed: FreedPayload, found: Designed, known: list[Attempt], structures: Structures
) -> tuple[Designed, list[Attempt]]:
    """A greatest payload and structures beside it; heavier where unlit stages carry one that is.

    What leaves a stage unlit uses less propellant than all that light it, so that no comparison
    at a payload which flies so tells of those. With a little more the tank below is too small, and
    nothing else is left.

    Args:
        freed: what found it.
        found: a greatest payload; known: the structures that were solved for next to it.
        structures: solves for them at another payload.
    """
    while found.attempt.plan.unlit and found.payload_for_left_over > 0.0:
        task = freed.carrying((1.0 + NARROW) * found.vehicle.payload_mass)
        attempts = structures(task) if may_fly(task) else []
        lit = [one for one in attempts if one.plan.unlit < found.attempt.plan.unlit]
        heavier = freed.designed(task, lit)
        if heavier is None or heavier.vehicle.payload_mass <= found.vehicle.payload_mass:
            break
        found, known = heavier, attempts
    return found, known
