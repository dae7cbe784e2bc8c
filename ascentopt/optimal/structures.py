"""Structures of the flight that are worth solving for."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.flight.reserve import reserve_of, restarts_kept
from ascentopt.mission import Mission
from ascentopt.optimal.aim import orbit_aim, transfer_aim
from ascentopt.optimal.bounds import impulsive_bound
from ascentopt.optimal.candidate import Attempt
from ascentopt.optimal.lower import gain_by_ending_lower
from ascentopt.optimal.overdraft import lends, may_be_close, spare
from ascentopt.optimal.pause import cannot_rest, cost_of_coasting
from ascentopt.optimal.run import REACHED
from ascentopt.optimal.solving import Solving
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.units import km

LOWER = 0.95
"""A coast of half a revolution is likely to pay where it begins below this share of the height."""

PROMISED = 3e-4
"""Share of the propellant that a coast must promise which begins further below."""

WORTH = 1e-3
"""Share of the mass in orbit, or of the squared missing speed, that a coast of sqrt(R^3/mu) (806 s
on the Earth) would have to gain at the rate of its first second. It gains less than a tenth of it,
for what pays at first soon does not."""

HIGH = 0.1
"""Altitude over the body's radius from which a burn without a coast may fall far short of an orbit
that half a revolution reaches with ease (one at 1056 km of the Earth: 1017 m/s)."""

BALLISTIC = 0.9
"""Share of the orbit's speed below which a coast before the last burn is sure to fall back."""


LOSSES = 1.15
"""Times the impulses of an ascent through air: with less a stage seldom reaches the orbit (in 300
cases never; with 1.21 times it did, and without air with 1.07)."""

ENOUGH = 0.95
"""Share of what an ascent by the last stage uses from which an earlier one is worth a try. Where it
does reach the orbit the last stage burns for next to nothing, so it has as much as is used."""


def inserting_stages(vehicle: Vehicle, mission: Mission) -> Iterator[int]:
    """Stages that may reach the orbit, the lowest first.

    An earlier one than the last is offered where its ideal delta-v, with those above it carried
    along, is no less than what any ascent needs. Reaching the orbit with propellant left it uses
    less than every later stage does: those burn, or drop, all that it has. (Only a solid motor
    right above it may save more.)
    """
    last, needed = len(vehicle.stages) - 1, impulsive_bound(mission).speed
    for index in range(last):
        if _carrying_the_rest(vehicle, index) >= needed and _can_insert(vehicle, mission, index):
            yield index
    yield last


def in_turn(vehicle: Vehicle, mission: Mission) -> list[int]:
    """Stages that may reach the orbit in the order in which they are best solved for.

    One that has hardly more than the impulses take comes last where there is air: what an ascent by
    the last stage uses mostly tells that it has not enough.
    """
    stages = list(inserting_stages(vehicle, mission))
    if mission.body.atmosphere is None:
        return stages
    losing = LOSSES * impulsive_bound(mission).speed
    return sorted(
        stages, key=lambda one: one != stages[-1] and _carrying_the_rest(vehicle, one) < losing
    )


def _carrying_the_rest(vehicle: Vehicle, stage: int) -> float:
    """Ideal delta-v, m/s, up to a stage that carries those above it, without a fairing."""
    return replace(vehicle.with_payload_above(stage), fairing=None).ideal_delta_v


def _can_insert(vehicle: Vehicle, mission: Mission, index: int) -> bool:
    """Whether a stage can be cut off at the orbit and keep the reserve."""
    if isinstance(vehicle.stages[index].engine, SolidMotor):
        return False
    try:
        reserve_of(vehicle, mission, direct(vehicle, index))
    except InputError:  # where it stands for the last stage as well, it is raised there
        return False
    return True


def plans(vehicle: Vehicle, mission: Mission) -> Iterator[FlightPlan]:
    """Structures worth solving for, those that would use the least propellant first."""
    for stage in inserting_stages(vehicle, mission):
        yield from plans_of(vehicle, mission, stage)


def plans_of(vehicle: Vehicle, mission: Mission, stage: int) -> Iterator[FlightPlan]:
    """Structures in which a stage inserts; a restart that the reserve needs is not spent."""
    plain = direct(vehicle, stage)
    if isinstance(vehicle.stages[stage].engine, SolidMotor):
        yield replace(plain, coast_before=(stage,))
        return
    yield plain
    if vehicle.stages[stage].restarts > restarts_kept(mission):
        yield replace(plain, restarts=1)
    elif stage > 0:
        yield replace(plain, coast_before=(stage,))


def free(solving: Solving, found: list[Attempt], stage: int) -> None:
    """Add every structure in which a stage inserts, without limits on loads.

    Those that are not worth solving for say why.
    """
    for plan in plans_of(solving.vehicle, solving.mission, stage):
        short = _without_a_coast(plan, found)
        reason = (
            _beaten_below(solving.vehicle, plan, found)
            or _exceeded_above(solving.vehicle, plan, found)
            or _needless(solving, plan, found)
            or _hopeless(solving, plan, short)
        )
        if reason:
            found.append(solving.skip(plan, reason))
        else:
            found.append(solving.attempt(plan, short))
            lower = solving.lower(found[-1])
            found.extend([] if lower is None else [lower])
    further_coasts(solving, found, stage)


def further_coasts(solving: Solving, found: list[Attempt], stage: int) -> None:
    """Put coasts into the best flight with which a stage inserts, as long as its costates say so.

    They are those that no plan from a guess has, between lower stages for the most part.
    """
    own = [a for a in found if a.plan.inserting_stage == stage and a.shortfall is not None]
    best = max(own, key=lambda one: one.rank, default=None)
    for _ in range(stage):
        before = None if best is None else _pays_before(best, found)
        other = None if best is None or before is None else solving.coasting(best, before)
        if best is None or other is None:
            return
        found.append(other)
        if other.rank <= best.rank:
            return
        best = other


def _pays_before(attempt: Attempt, found: list[Attempt]) -> int | None:
    """The stage before which a coast pays most from its first second; None where none does."""
    flight, plan = attempt.flight, attempt.plan
    if flight is None:
        return None
    known = {one.plan.coast_before for one in found if one.plan.restarts == plan.restarts}
    costs = {
        stage: cost_of_coasting(flight, attempt.sequence, stage)
        for stage in range(1, plan.inserting_stage + 1)
        if tuple(sorted({*plan.coast_before, stage})) not in known
    }
    stage = min(costs, key=costs.__getitem__, default=None)
    whole = attempt.final_mass if attempt.reached else (attempt.shortfall or 0.0) ** 2
    pace = flight.problem.time.scale
    return stage if stage is not None and -costs[stage] * pace > WORTH * whole else None


def _beaten_below(vehicle: Vehicle, plan: FlightPlan, found: list[Attempt]) -> str | None:
    """Why a later stage need not insert; None where no earlier one does within the limits."""
    for attempt in found:
        if attempt.limited and attempt.plan.inserting_stage < plan.cut_off_stage(vehicle):
            return (
                f"not solved for: stage {attempt.plan.inserting_stage + 1} reaches the orbit with "
                "propellant left, all of which would be burned, or dropped, before a later one"
            )
    return None


def _exceeded_above(vehicle: Vehicle, plan: FlightPlan, found: list[Attempt]) -> str | None:
    """Why an earlier stage cannot insert; None where the last one does not say so.

    Whatever an earlier stage can reach the last one can, all but unlit. So where it burns for long
    those below it have not enough, unless what it burned for was no good ascent: one that was not
    solved with a coast may have none.
    """
    last = [one for one in found if not one.plan.unlit]
    known = all(one.skipped or one.reached or (one.shortfall or 0.0) > REACHED for one in last)
    if not (plan.unlit and known and lends(vehicle)):
        return None
    reached = [one for one in last if one.reached]
    used = [vehicle.ideal_delta_v - spare(vehicle, one.sequence, one.final_mass) for one in reached]
    has, needs = _carrying_the_rest(vehicle, plan.inserting_stage), min(used, default=0.0)
    if has >= ENOUGH * needs:
        return None
    return (
        f"not solved for: an ascent by the last stage uses {needs:.0f} m/s, and stage "
        f"{plan.inserting_stage + 1} has no more than {has:.0f} m/s with the others aboard"
    )


def _is_high(solving: Solving) -> bool:
    body = solving.mission.body
    return orbit_aim(solving.mission).radius > (1.0 + HIGH) * body.radius


def _hopeless(solving: Solving, plan: FlightPlan, short: Attempt | None) -> str | None:
    """Why a coast in the last burn brings a flight that falls short no nearer; None if it may.

    To a high orbit a flight that falls far short of it says nothing about half a revolution.
    """
    if short is None or short.nearest is None or not plan.restarts or _is_high(solving):
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
    same = (one for one in found if one.plan.inserting_stage == plan.inserting_stage)
    burn = next((attempt for attempt in same if attempt.reached), None)
    if burn is None or burn.would_rather_coast():
        return None
    mission, body = solving.mission, solving.mission.body
    told = "not solved for: by its costates the burn into the orbit gains nothing by a pause, and "
    if plan.coast_before:
        share = _before(plan.inserting_stage, solving.vehicle) / orbit_aim(mission).speed
        slow = f"the stages before the last ideally gain {100 * share:.0f} per cent of its speed"
        return told + slow if share < BALLISTIC else None
    low, orbit = transfer_aim(mission, solving.vehicle.fairing), orbit_aim(mission)
    if low.radius - body.radius < LOWER * (orbit.radius - body.radius):
        return None
    gain = gain_by_ending_lower(burn, mission)
    if gain > PROMISED * solving.vehicle.propellant_mass:
        return None
    return (
        f"{told}at {(orbit.radius - body.radius) / km:.1f} km, its lowest, the orbit is where a "
        f"transfer would begin ({(low.radius - body.radius) / km:.1f} km); one from further below "
        f"gains no more than {max(gain, 0.0):.2g} kg"
    )


def _before(stage: int, vehicle: Vehicle) -> float:
    """Ideal delta-v of all stages below one, m/s."""
    return sum(burn.delta_v for burn in burns(vehicle.with_payload_above(stage))[:-1])


def limited(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Impose the limits on loads, the most promising attempt first; the best comes first.

    ``attempts`` are replaced by how far they come.

    Limits only cost propellant. An attempt that has less left without them than another has within
    them is beaten as it stands.
    """
    waiting = sorted(attempts, key=lambda attempt: -attempt.unspent)
    done: list[Attempt] = []
    for attempt in waiting:
        best = max((one.unspent for one in done if one.limited), default=-np.inf)
        promising = attempt.reached and not attempt.limited and attempt.unspent > best
        barrier = _barred_by(attempt, done)
        if promising and barrier is not None:
            done.append(_shut_out(attempt, barrier))
        else:
            done.append(solving.within_limits(attempt) if promising else attempt)
        attempts[attempts.index(attempt)] = done[-1]
    return ordered(done)


def _barred_by(attempt: Attempt, done: list[Attempt]) -> Attempt | None:
    """One that no flight brings through arcs with which this attempt begins as well."""
    for one in done:
        if one.barred is None:
            continue
        names = one.sequence.names
        through = 1 + max(k for k, name in enumerate(names) if name in one.watched)
        if one.sequence.arcs[:through] == attempt.sequence.arcs[:through]:
            return one
    return None


def _shut_out(attempt: Attempt, barrier: Attempt) -> Attempt:
    """The attempt that another one says all about."""
    line = (
        f"limits not imposed: it begins as {barrier.plan}, which no flight brings through the same "
        "arcs within them, wherever it ends"
    )
    return replace(attempt, solution=None, shortfall=None, history=(*attempt.history, line))


def ordered(attempts: list[Attempt]) -> list[Attempt]:
    """Those within the limits first, the one with most left at the top."""
    return sorted(attempts, key=lambda attempt: (not attempt.limited, -attempt.unspent))


def looked_into(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Attempts of which none flies, each with what a tank that may be overdrawn says to it."""
    known = [one.shortfall for one in attempts if one.shortfall]
    done = [one for one in attempts if one.barred is not None]
    if done and all(one.skipped or _barred_by(one, done) for one in attempts):
        return attempts  # the double is as heavy: it strains the limits in the same arcs as much
    if not may_be_close(solving.vehicle, known):
        return attempts
    seen: list[Attempt] = []
    free(solving.double, seen, len(solving.vehicle.stages) - 1)
    settled = [
        one if one.held else solving.settled(one, _twin(one, seen)) for one in attempts
    ]
    return ordered(settled)


def held(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Attempts of which none flies, the one that comes nearest within the limits on loads.

    Limits only cost speed: those that lack more without them need not be looked into.
    """
    done = list(attempts)
    for _ in attempts:
        short = [one for one in done if one.nearest is not None and one.shortfall is not None]
        nearest = min(short, key=lambda one: one.shortfall or 0.0, default=None)
        if nearest is None or nearest.held or nearest.shortfall == 0.0:
            break
        within = solving.held(nearest)
        done[done.index(nearest)] = within
        if not within.held:
            break
    return ordered(done)


def _twin(attempt: Attempt, seen: list[Attempt]) -> Attempt | None:
    """The double's attempt at the same burns and coasts, where it flies; None where none does."""
    for one in seen:
        if one.reached and replace(one.plan, fairing_arc=attempt.plan.fairing_arc) == attempt.plan:
            return one
    return None
