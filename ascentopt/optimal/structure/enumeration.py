"""Structures of the flight that are worth solving for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.inserting_stages import inserting_stages
from ascentopt.optimal.problem.target.aim import orbit_aim, transfer_aim
from ascentopt.optimal.solve.attempt_at import attempt_at, skipped
from ascentopt.optimal.solve.structure_solver import has_known_outcome
from ascentopt.optimal.structure.by_parking_orbit import by_parking_orbit
from ascentopt.optimal.structure.census import SETTLED_BY
from ascentopt.optimal.structure.dominance import why_earlier_stage_lacks
from ascentopt.optimal.structure.further_coasts import coasts_that_pay
from ascentopt.optimal.switching.coasting import gain_by_ending_lower
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.parking_orbit import wants_parking
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import km

LOW_START_OF_TRANSFER = 0.95
"""A coast of half a revolution is likely to pay where it begins below this share of the height."""

BALLISTIC = 0.9
"""Share of the orbit's speed below which a coast before the last burn is sure to fall back."""

ENOUGH_DELTA_V = 0.95
"""Share of what an ascent by the last stage uses from which an earlier one is worth a try. Where it
does reach the orbit the last stage burns for next to nothing, so it has as much as is used."""


def plans(vehicle: Vehicle, mission: Mission) -> Iterator[FlightPlan]:
    """Structures worth solving for, those that would use the least propellant first."""
    for stage in inserting_stages(vehicle, mission):
        yield from plans_of(vehicle, mission, stage)


def plans_of(vehicle: Vehicle, mission: Mission, stage: int) -> Iterator[FlightPlan]:
    """Structures in which a stage inserts; a restart that the reserve needs is not spent."""
    plain = direct(vehicle, stage)
    if early := stages_that_must_end_early(vehicle, mission, stage):
        plain = replace(plain, cut_early=early)
    if isinstance(vehicle.stages[stage].engine, SolidMotor):
        yield replace(plain, coast_before=(stage,) * (stage > 0))
        return
    yield plain
    again = vehicle.stages[stage].restarts > restarts_kept(mission)
    if again:
        yield replace(plain, restarts=1)
    if stage > 0 and not again:
        yield replace(plain, coast_before=(stage,))
    if stage > 0 and not early and _may_throw_too_high(vehicle, mission, stage):
        yield replace(plain, coast_before=(stage,), cut_early=(stage - 1,))


def stages_that_must_end_early(
    vehicle: Vehicle, mission: Mission, inserting: int
) -> tuple[int, ...]:
    """Stages below the inserting one that cannot burn to their ends within the limit on thrust.

    The least thrust over the mass with which the burn would end, fairing and boosters gone.
    """
    limit = mission.limits.axial_acceleration
    if limit is None:
        return ()
    return tuple(
        index
        for index, stage in enumerate(vehicle.stages[:inserting])
        if not isinstance(stage.engine, SolidMotor)
        and stage.engine.min_throttle * stage.engine.vacuum_thrust
        > limit * (vehicle.mass_above(index) - vehicle.fairing_mass + stage.dry_mass)
    )


def _may_throw_too_high(vehicle: Vehicle, mission: Mission, stage: int) -> bool:
    """Whether the stages below have nearly the speed of the orbit, and the last can be cut off.

    Where its flight will rise to the orbit: burned out it is to be flown steeply, a waste.
    """
    engine = vehicle.stages[stage - 1].engine
    return not isinstance(engine, SolidMotor) and _share_below(vehicle, mission, stage) >= BALLISTIC


def _share_below(vehicle: Vehicle, mission: Mission, stage: int) -> float:
    """Ideal delta-v of all stages below one, as a share of the orbit's speed."""
    below = burns(vehicle.with_payload_above(stage))[:-1]
    return sum(burn.delta_v for burn in below) / orbit_aim(mission).speed


def structures_without_load_limits(
    task: Task, known: list[Attempt], stage: int
) -> Iterator[Attempt]:
    """Every structure in which a stage inserts, without limits on loads, as it is solved for.

    Those that are not worth solving for say why, by what is ``known`` of other stages and by the
    ones before them. A flight by a circle or a transfer is no reason to leave out those from flown
    guesses, which may be better than either.
    """
    plain = direct(task.vehicle, stage)
    wanted = task.exhaustive or (
        wants_parking(task.mission)
        and not _why_later_stage_is_beaten(task.vehicle, plain, known)
        and not _why_earlier_stage_falls_short(task.vehicle, plain, known)
    )
    by_a_circle = list(by_parking_orbit(task, stage)) if wanted else []
    yield from by_a_circle
    known = [*known, *by_a_circle]
    for plan in plans_of(task.vehicle, task.mission, stage):
        one = solved_or_skipped(task, plan, known)
        known = [*known, one]
        yield one
    yield from coasts_that_pay(task, known, stage)


def solved_or_skipped(task: Task, plan: FlightPlan, known: list[Attempt]) -> Attempt:
    """The attempt at a structure, beside what is known, or the record why there is none."""
    reason = not task.exhaustive and (
        _why_burns_end_too_low(task.vehicle, task.mission, plan)
        or _why_later_stage_is_beaten(task.vehicle, plan, known)
        or _why_earlier_stage_falls_short(task.vehicle, plan, known)
        or _why_coast_cannot_pay(task, plan, known)
    )
    return skipped(task, plan, reason) if reason else attempt_at(task, plan)


def _why_burns_end_too_low(vehicle: Vehicle, mission: Mission, plan: FlightPlan) -> str | None:
    """Why a flight without a coast of free length is over before it could be there; None if not.

    As if it had all its ideal delta-v from lift-off on, straight up and without weight. (A core
    that throttles beside its boosters may gain some per cent more; weight takes off far more.)
    """
    body, lowest = mission.body, mission.orbit.periapsis_radius_around(mission.body)
    if plan.restarts or plan.coast_before or lowest is None:
        return None
    ground = body.radius + mission.site.altitude
    speed = replace(vehicle, fairing=None).ideal_delta_v + abs(body.rotation_rate) * ground
    stages = vehicle.stages[: plan.inserting_stage + 1]
    time = sum(one.ignition_delay + one.burn_time / one.engine.min_throttle for one in stages)
    if ground + speed * time >= lowest:
        return None
    return (
        f"not solved for: as fast from lift-off on as its ideal delta-v, it would be "
        f"{speed * time / km:.0f} km up when it has burned all, after {time:.0f} s at most"
    )


def _why_later_stage_is_beaten(
    vehicle: Vehicle, plan: FlightPlan, known: list[Attempt]
) -> str | None:
    """Why a later stage need not insert; None where no earlier one does within the limits."""
    cut_off = plan.cut_off_stage(vehicle)
    if cut_off is None:  # what it would leave is ballast
        return None
    for attempt in known:
        if attempt.keeps_limits and attempt.plan.inserting_stage < cut_off:
            return (
                f"not solved for: stage {attempt.plan.inserting_stage + 1} reaches the orbit with "
                "propellant left, all of which would be burned, or dropped, before a later one"
            )
    return None


def _why_earlier_stage_falls_short(
    vehicle: Vehicle, plan: FlightPlan, known: list[Attempt]
) -> str | None:
    """Why an earlier stage cannot insert; None where the last one does not say so.

    Where that burns for long those below it have not enough, unless what it burned for was no good
    ascent: one that was not solved with a coast may have none.
    """
    last = [one for one in known if not one.plan.unlit]
    told = all(one.skipped or has_known_outcome(one) for one in last)
    best = max((one for one in last if one.reached), key=lambda one: one.unspent, default=None)
    if not (plan.unlit and told and best):
        return None
    return why_earlier_stage_lacks(vehicle, best, plan, ENOUGH_DELTA_V)


def _why_coast_cannot_pay(task: Task, plan: FlightPlan, known: list[Attempt]) -> str | None:
    """Why a coast cannot pay beside the burn that was found; None where it may.

    A short one pays only where the burn would better be off by its costates, a long one only in an
    orbit that is lower than the target's, or at least does not fall back.
    """
    same = (one for one in known if one.plan.inserting_stage == plan.inserting_stage)
    burn = next((attempt for attempt in same if attempt.reached), None)
    if burn is None or burn.would_rather_coast():
        return None
    mission, body = task.mission, task.mission.body
    told = "not solved for: by its costates the burn into the orbit gains nothing by a pause, and "
    if plan.coast_before:
        share = _share_below(task.vehicle, mission, plan.inserting_stage)
        slow = f"the stages before the last ideally gain {100 * share:.0f} per cent of its speed"
        return told + slow if share < BALLISTIC else None
    low, orbit = transfer_aim(mission, task.vehicle.fairing), orbit_aim(mission)
    if low.radius - body.radius < LOW_START_OF_TRANSFER * (orbit.radius - body.radius):
        return None
    gain = gain_by_ending_lower(burn, mission)
    if gain > SETTLED_BY * task.vehicle.propellant_mass:
        return None
    return (
        f"{told}at {(orbit.radius - body.radius) / km:.1f} km, its lowest, the orbit is where a "
        f"transfer would begin ({(low.radius - body.radius) / km:.1f} km); one from further below "
        f"gains no more than {max(gain, 0.0):.2g} kg"
    )
