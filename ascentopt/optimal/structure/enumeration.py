"""Structures of the flight that are worth solving for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from ascentopt.flight.phases.reserve import restarts_kept
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.bounds.inserting_stages import (
    delta_v_carrying_upper_stages,
    inserting_stages,
)
from ascentopt.optimal.problem.target.aim import orbit_aim, transfer_aim
from ascentopt.optimal.problem.target.ellipse import given_argument_of_periapsis
from ascentopt.optimal.solve.attempt_at import attempt_at, attempt_with_fairing_carried, skipped
from ascentopt.optimal.solve.relaxed_tank import can_relax_tank, remaining_delta_v
from ascentopt.optimal.solve.structure_solver import has_known_outcome
from ascentopt.optimal.structure.burned_out import burned_out_below
from ascentopt.optimal.structure.by_parking_orbit import by_parking_orbit
from ascentopt.optimal.structure.early_shutdown import stages_that_must_end_early
from ascentopt.optimal.structure.further_coasts import coasts_that_pay
from ascentopt.optimal.switching.coasting import share_lost_by_coasting
from ascentopt.optimal.switching.lower_insertion import gain_by_ending_lower
from ascentopt.optimal.task import Task
from ascentopt.optimal.warm_start.parking_orbit import (
    has_two_headings,
    wants_parking,
)
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import km

LOW_START_OF_TRANSFER = 0.95
"""A coast of half a revolution is likely to pay where it begins below this share of the height."""

LEAST_GAIN_OF_TRANSFER = 3e-4
"""Share of the propellant that a coast must promise which begins further below."""

HIGH_ORBIT = 0.1
"""Altitude over the body's radius from which a burn without a coast may fall far short of an orbit
that half a revolution reaches with ease (one at 1056 km of the Earth: 1017 m/s)."""

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
    if stage > 0 and (not again or _is_thrown_high_by_solids(vehicle, mission, stage)):
        yield replace(plain, coast_before=(stage,))
    if stage > 0 and not early and _may_throw_too_high(vehicle, mission, stage):
        yield replace(plain, coast_before=(stage,), cut_early=(stage - 1,))


def _is_thrown_high_by_solids(vehicle: Vehicle, mission: Mission, stage: int) -> bool:
    """Whether solid motors have thrown a stage up that high that it may rest before it is lit.

    With a restart that is a first burn of no length, to which no half revolution leads the solver.
    """
    above = stage > 1 and isinstance(vehicle.stages[stage - 1].engine, SolidMotor)
    return above and _share_below(vehicle, mission, stage) >= BALLISTIC


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
    guesses: to a plane below the latitude a lob that meets its node may be better than either.
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
    for one in _plans_solved_or_skipped(task, known, stage):
        known = [*known, one]
        yield one
    for one in _by_the_other_heading(task, known, stage):
        known = [*known, one]
        yield one
    yield from coasts_that_pay(task, known, stage)


def _by_the_other_heading(task: Task, known: list[Attempt], stage: int) -> Iterator[Attempt]:
    """Where nothing arrives at a placed periapsis, the plans that are begun from guesses, again.

    From the pad it is another way round to the periapsis by each heading: what falls short by
    hundreds of m/s heading north may fly heading south. Elsewhere the two cost nearly the same, and
    what arrives is turned to the other one by the search.
    """
    placed = given_argument_of_periapsis(task.mission) is not None
    if not (placed and has_two_headings(task.mission)) or any(one.reached for one in known):
        return
    tried: list[Attempt] = []
    for plan in plans_of(task.vehicle, task.mission, stage):
        turned = replace(plan, southward=True)
        tried.append(attempt_at(task, turned, _short_without_coast(turned, tried)))
        yield tried[-1]


def _plans_solved_or_skipped(task: Task, known: list[Attempt], stage: int) -> Iterator[Attempt]:
    """Attempts at the plans that are begun from guesses."""
    plans = [*plans_of(task.vehicle, task.mission, stage)]
    too_high = None if task.exhaustive else burned_out_below(task.vehicle, task.mission)
    for plan in sorted(plans, key=lambda plan: too_high is not None and not _coasts(plan)):
        for one in _solved_or_skipped(task, plan, known, too_high):
            known = [*known, one]
            yield one
    if too_high is not None and not any(one.reached for one in known):
        # What cannot arrive may still be where another structure begins.
        for plan in filter(_coasts, plans):
            one = attempt_at(task, plan, _short_without_coast(plan, known))
            known = [*known, one]
            yield one


def _coasts(plan: FlightPlan) -> bool:
    return bool(plan.restarts or plan.coast_before)


def solved_or_skipped(task: Task, plan: FlightPlan, known: list[Attempt]) -> Iterator[Attempt]:
    """The attempts at a structure, beside what is known, or the record why there is none."""
    too_high = None if task.exhaustive else burned_out_below(task.vehicle, task.mission)
    yield from _solved_or_skipped(task, plan, known, too_high)


def _solved_or_skipped(
    task: Task, plan: FlightPlan, known: list[Attempt], too_high: str | None
) -> Iterator[Attempt]:
    """The attempts at a structure, or the record why there is none.

    Args:
        task, known: as in `structures_without_load_limits`.
        plan: the structure.
        too_high: why one without a coast of free length cannot arrive; None where it may.
    """
    short = _short_without_coast(plan, known)
    late = not _coasts(plan) and any(one.reached for one in known)
    reason = not task.exhaustive and (
        (too_high if late else None)
        or _why_later_stage_is_beaten(task.vehicle, plan, known)
        or _why_earlier_stage_falls_short(task.vehicle, plan, known)
        or _why_coast_cannot_pay(task, plan, known)
        or _why_coast_brings_no_nearer(task, plan, short)
    )
    if reason:
        yield skipped(task, plan, reason)
        return
    attempt = attempt_at(task, plan, short)
    yield attempt
    lower = attempt_with_fairing_carried(task, attempt)
    if lower is not None:
        yield lower


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

    Whatever an earlier stage can reach the last one can, all but unlit. So where it burns for long
    those below it have not enough, unless what it burned for was no good ascent: one that was not
    solved with a coast may have none.
    """
    last = [one for one in known if not one.plan.unlit]
    told = all(one.skipped or has_known_outcome(one) for one in last)
    if not (plan.unlit and told and can_relax_tank(vehicle)):
        return None
    reached = [one for one in last if one.reached]
    used = [
        vehicle.ideal_delta_v - remaining_delta_v(vehicle, one.sequence, one.final_mass)
        for one in reached
    ]
    has, needs = (
        delta_v_carrying_upper_stages(vehicle, plan.inserting_stage),
        min(used, default=0.0),
    )
    if has >= ENOUGH_DELTA_V * needs:
        return None
    return (
        f"not solved for: an ascent by the last stage uses {needs:.0f} m/s, and stage "
        f"{plan.inserting_stage + 1} has no more than {has:.0f} m/s with the others aboard"
    )


def _is_high(task: Task) -> bool:
    body = task.mission.body
    return orbit_aim(task.mission).radius > (1.0 + HIGH_ORBIT) * body.radius


def _why_coast_brings_no_nearer(task: Task, plan: FlightPlan, short: Attempt | None) -> str | None:
    """Why a coast in the last burn brings a flight that falls short no nearer; None if it may.

    To a high orbit a flight that falls far short of it says nothing about half a revolution.
    """
    if short is None or short.nearest_flight is None or not plan.restarts or _is_high(task):
        return None
    share = share_lost_by_coasting(short.nearest_flight, short.sequence)
    if share is None:
        return None
    return (
        f"not solved for: the flight that comes nearest without a coast is held up by its thrust: "
        f"a second of coast costs at least {100 * share:.0f} per cent of what one of thrust gains"
    )


def _short_without_coast(plan: FlightPlan, known: list[Attempt]) -> Attempt | None:
    """The attempt with the same stages and no coast that falls short; None where none does."""
    plain = (
        attempt
        for attempt in known
        if attempt.nearest_flight is not None
        and attempt.shortfall is not None
        and attempt.plan.inserting_stage == plan.inserting_stage
        and not (attempt.plan.restarts or attempt.plan.coast_before)
    )
    return next(plain, None)


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
    if gain > LEAST_GAIN_OF_TRANSFER * task.vehicle.propellant_mass:
        return None
    return (
        f"{told}at {(orbit.radius - body.radius) / km:.1f} km, its lowest, the orbit is where a "
        f"transfer would begin ({(low.radius - body.radius) / km:.1f} km); one from further below "
        f"gains no more than {max(gain, 0.0):.2g} kg"
    )
