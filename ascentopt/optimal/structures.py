"""Structures of the flight that are worth solving for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.flight.reserve import restarts_kept
from ascentopt.mission import Mission
from ascentopt.optimal.aim import orbit_aim, transfer_aim
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.pause import cannot_rest
from ascentopt.optimal.solving import Solving
from ascentopt.rocket import Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import km

LOWER = 0.95
"""A coast of half a revolution pays only from an altitude below this share of the orbit's."""

BALLISTIC = 0.9
"""Share of the orbit's speed below which a coast before the last burn is sure to fall back."""


def plans(vehicle: Vehicle, mission: Mission) -> Iterator[FlightPlan]:
    """Structures worth solving for; a restart that the reserve needs is not spent."""
    plain = direct(vehicle)
    yield plain
    if vehicle.stages[plain.inserting_stage].restarts > restarts_kept(mission):
        yield replace(plain, restarts=1)
    elif plain.inserting_stage > 0:
        yield replace(plain, coast_before=(plain.inserting_stage,))


def free(solving: Solving, found: list[Attempt]) -> None:
    """Add every structure without limits on loads, or why it is not worth solving for."""
    for plan in plans(solving.vehicle, solving.mission):
        short = _without_a_coast(plan, found)
        reason = _needless(solving, plan, found) or _hopeless(plan, short)
        if reason:
            found.append(solving.skip(plan, reason))
        else:
            found.append(solving.attempt(plan, short))


def _hopeless(plan: FlightPlan, short: Attempt | None) -> str | None:
    """Why a coast in the last burn brings a flight that falls short no nearer; None if it may."""
    if short is None or short.nearest is None or not plan.restarts:
        return None
    share = cannot_rest(short.nearest, short.sequence)
    if share is None:
        return None
    return (
        f"not solved for: the flight that comes nearest without a coast is held up by its thrust: "
        f"a second of coast costs at least {100 * share:.0f} per cent of what one of thrust gains"
    )


def _without_a_coast(plan: FlightPlan, found: list[Attempt]) -> Attempt | None:
    """The attempt with the same stages and no coast that falls short; None where none does."""
    plain = (
        attempt
        for attempt in found
        if attempt.nearest is not None
        and attempt.shortfall is not None
        and attempt.plan.inserting_stage == plan.inserting_stage
        and not (attempt.plan.restarts or attempt.plan.coast_before)
    )
    return next(plain, None)


def _needless(solving: Solving, plan: FlightPlan, found: list[Attempt]) -> str | None:
    """Why a coast cannot pay beside the burn that was found; None where it may.

    A short one pays only where the burn would better be off by its costates, a long one only in an
    orbit that is lower than the target's, or at least does not fall back.
    """
    burn = next((attempt for attempt in found if attempt.reached), None)
    if burn is None or burn.would_rather_coast():
        return None
    mission, body = solving.mission, solving.mission.body
    told = "not solved for: by its costates the burn into the orbit gains nothing by a pause, and "
    if plan.coast_before:
        share = _before_the_last(solving.vehicle) / orbit_aim(mission).speed
        slow = f"the stages before the last ideally gain {100 * share:.0f} per cent of its speed"
        return told + slow if share < BALLISTIC else None
    low, orbit = transfer_aim(mission, solving.vehicle.fairing), orbit_aim(mission)
    if low.radius - body.radius < LOWER * (orbit.radius - body.radius):
        return None
    return (
        f"{told}at {(orbit.radius - body.radius) / km:.1f} km, its lowest, the orbit is where a "
        f"transfer would begin ({(low.radius - body.radius) / km:.1f} km)"
    )


def _before_the_last(vehicle: Vehicle) -> float:
    """Ideal delta-v of all stages but the last, m/s."""
    return sum(burn.delta_v for burn in burns(vehicle)[:-1])
