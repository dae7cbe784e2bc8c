"""The main job: from a rocket and a mission to the least-propellant ascent."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field, replace

import numpy as np

from ascentopt.collocation import Refinement, SolverSettings
from ascentopt.errors import InfeasibleAscent, Interrupted
from ascentopt.flight.failure import FlightError
from ascentopt.flight.plan import FlightPlan, direct
from ascentopt.flight.reserve import restarts_kept
from ascentopt.flight.simulate import Flight, as_far_as, fly
from ascentopt.mission import Mission
from ascentopt.optimal.aim import orbit_aim, transfer_aim
from ascentopt.optimal.ascent import Ascent, Candidate
from ascentopt.optimal.bounds import check_bound, check_lift_off
from ascentopt.optimal.candidate import Attempt, Solving, Standing
from ascentopt.optimal.certificate import certify
from ascentopt.optimal.diagnosis import beyond_bound, diagnose
from ascentopt.optimal.export import steering_of
from ascentopt.optimal.prices import prices_of
from ascentopt.optimal.variations import Case
from ascentopt.rocket import Vehicle
from ascentopt.rocket.performance import burns
from ascentopt.steering import TabulatedSteering
from ascentopt.units import km

CLOSE = (2.0, 2e-3)
"""m and m/s of insertion miss that are not worth another solve: a fifth of the certificate's."""

LOWER = 0.95
"""A coast of half a revolution pays only from an altitude below this share of the orbit's."""

BALLISTIC = 0.9
"""Share of the orbit's speed below which a coast before the last burn is sure to fall back."""

MOST_LEADS = 3


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How hard to try.

    Args:
        settings: of the interior-point solver.
        refinement: when the mesh is fine enough; by default a continuous error of 1e-6 of the
            scales (millimetres per second and metres at the insertion) and limits kept to half a
            per cent between the nodes.
    """

    settings: SolverSettings = field(
        default_factory=lambda: SolverSettings(iterations=150, time_limit=20.0)
    )
    refinement: Refinement = field(
        default_factory=lambda: Refinement(tolerance=1e-6, path_tolerance=5e-3, rounds=8)
    )


@dataclass(frozen=True, eq=False)
class Optimum:
    """An ascent with the attempt behind it, from which a neighbouring one can be solved."""

    ascent: Ascent
    attempt: Attempt


def optimize(vehicle: Vehicle, mission: Mission, effort: Effort = Effort()) -> Ascent:
    """Return the ascent that leaves the most propellant in the orbit.

    Direct insertion is solved for, and where the last stage can be lit again also burn, coast,
    burn, first without limits on loads and then within them (not where another candidate is
    better already); the best one is refined, exported as a steering table and flown by an
    independent integrator. No guess is needed.

    Raises:
        InputError: what cannot be right, such as a thrust below the weight at lift-off.
        InfeasibleAscent: the orbit cannot be reached; says by how much.
        Interrupted: by the keyboard; carries the best flight so far, marked as such.
    """
    return optimum(vehicle, mission, effort).ascent


def optimum(
    vehicle: Vehicle, mission: Mission, effort: Effort, near: Attempt | None = None
) -> Optimum:
    """As `optimize`; with a neighbour's attempt, from its solution and with its plan alone.

    Raises:
        InputError, InfeasibleAscent: as `optimize`.
    """
    check_lift_off(vehicle, mission)
    solving = Solving(
        vehicle=vehicle, mission=mission, settings=effort.settings, refinement=effort.refinement
    )
    try:
        check_bound(vehicle, mission)
    except InfeasibleAscent as refusal:
        raise _out_of_bounds(solving, refusal) from None
    found: list[Attempt] = []
    try:
        return _solved(solving, near, found)
    except KeyboardInterrupt as stop:
        raise _interrupted(solving, found) from stop


def _solved(solving: Solving, near: Attempt | None, found: list[Attempt]) -> Optimum:
    """The optimum; ``found`` grows by every structure that was solved without limits on loads."""
    if near is not None:
        found.append(solving.near(near))
    else:
        _free(solving, found)
    attempts = _limited(solving, found)
    if not (attempts[0].reached and attempts[0].limited):
        raise _infeasible(solving, attempts)
    best, others = _refined(solving, attempts)
    arrival = _closed(solving, best)
    return Optimum(_ascent(solving, arrival, others), arrival.attempt)


def _interrupted(solving: Solving, found: list[Attempt]) -> Interrupted:
    """What there is when the user loses patience: the best flight, as it stands."""
    name = solving.vehicle.name
    reached = [attempt for attempt in found if attempt.reached]
    if not reached:
        return Interrupted(f"{name}: interrupted before a flight to the orbit was found.")
    best = max(reached, key=lambda attempt: attempt.final_mass)
    line = "interrupted: limits on loads may be broken, the mesh is the first one"
    told = replace(best, history=(*best.history, line))
    others = [attempt for attempt in found if attempt is not best]
    ascent = _ascent(solving, _Arrival.of(solving, told), others)
    first, *rest = ascent.candidates
    marked = (replace(first, standing=Standing.INTERRUPTED), *rest)
    return Interrupted(
        f"{name}: interrupted. The best flight so far is attached; {Standing.INTERRUPTED.value}.",
        best=replace(ascent, candidates=marked),
    )


def _free(solving: Solving, found: list[Attempt]) -> None:
    """Add every structure without limits on loads, or why it is not worth solving for."""
    for plan in plans(solving.vehicle, solving.mission):
        reason = _needless(solving, plan, found)
        found.append(solving.skip(plan, reason) if reason else solving.attempt(plan))


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


def _limited(solving: Solving, attempts: list[Attempt]) -> list[Attempt]:
    """Impose the limits on loads, the most promising attempt first; the best comes first.

    Limits only cost mass. An attempt that delivers less without them than another does within
    them is beaten as it stands.
    """
    waiting = sorted(attempts, key=lambda attempt: -attempt.final_mass)
    done: list[Attempt] = []
    for attempt in waiting:
        best = max((one.final_mass for one in done if one.limited), default=-np.inf)
        promising = attempt.reached and attempt.final_mass > best
        done.append(solving.within_limits(attempt) if promising else attempt)
    return sorted(done, key=lambda attempt: (not attempt.limited, -attempt.final_mass))


def _refined(solving: Solving, attempts: list[Attempt]) -> tuple[Attempt, list[Attempt]]:
    """The best attempt that can be refined, and the others; else the best one as far as it goes.

    One that cannot be refined keeps its place in the list and says so: it may be better than the
    answer, but nobody knows.
    """
    done: list[Attempt] = []
    for k, attempt in enumerate(attempts):
        open_still = attempt.reached and not attempt.limited
        bound = solving.within_limits(attempt) if open_still else attempt
        done.append(solving.sharpen(bound) if bound.reached and bound.limited else bound)
        if done[-1].refined:
            return done[-1], [*done[:-1], *attempts[k + 1 :]]
    best = next(attempt for attempt in done if attempt.reached and attempt.limited)
    return best, [attempt for attempt in done if attempt is not best]


def plans(vehicle: Vehicle, mission: Mission) -> Iterator[FlightPlan]:
    """Structures worth solving for; a restart that the reserve needs is not spent."""
    plain = direct(vehicle)
    yield plain
    if vehicle.stages[plain.inserting_stage].restarts > restarts_kept(mission):
        yield replace(plain, restarts=1)
    elif plain.inserting_stage > 0:
        yield replace(plain, coast_before=(plain.inserting_stage,))


@dataclass(frozen=True, eq=False)
class _Arrival:
    """An attempt with the steering table made of it and the independent flight of that."""

    attempt: Attempt
    steering: TabulatedSteering
    flight: Flight
    early: bool = False

    @classmethod
    def of(cls, solving: Solving, attempt: Attempt) -> _Arrival:
        steering = steering_of(attempt, solving.mission)
        try:
            return cls(attempt, steering, fly(solving.vehicle, solving.mission, steering))
        except FlightError as failure:
            line = f"the independent flight ended early: {failure}"
            told = replace(attempt, history=(*attempt.history, line))
            return cls(told, steering, as_far_as(attempt.sequence, failure), early=True)

    def is_close(self) -> bool:
        miss = self.flight.final_state[:6] - self.attempt.intended()
        return bool(np.linalg.norm(miss[:3]) < CLOSE[0] and np.linalg.norm(miss[3:]) < CLOSE[1])


def _closed(solving: Solving, attempt: Attempt) -> _Arrival:
    """Let the plan lead the flight by what the flight misses it by, until it ends in the orbit.

    A centimetre per second at a cut-off is a hundred metres half a revolution later: a coast
    magnifies what any mesh leaves, and the miss is closed where it arises in any autopilot.
    """
    arrival = _Arrival.of(solving, attempt)
    for _ in range(MOST_LEADS):
        if arrival.early or arrival.is_close():
            break
        by = arrival.flight.final_state[:6] - arrival.attempt.planned
        led = solving.lead(arrival.attempt, by)
        if led.found is arrival.attempt.found:  # not solved: what there is stands, and says so
            return replace(arrival, attempt=led)
        arrival = _Arrival.of(solving, led)
    return arrival


def _ascent(solving: Solving, arrival: _Arrival, others: list[Attempt]) -> Ascent:
    best, flight, vehicle = arrival.attempt, arrival.flight, solving.vehicle
    return Ascent(
        vehicle=vehicle,
        mission=solving.mission,
        plan=best.plan,
        steering=arrival.steering,
        trajectory=flight.trajectory,
        events=flight.events,
        budget=flight.budget,
        certificate=certify(best, flight),
        candidates=tuple(_candidate(vehicle, one, best=one is best) for one in [best, *others]),
        prices=prices_of(Case(vehicle, solving.mission), best),
        final_mass=best.final_mass,
        propellant_used=_used(vehicle, best),
        propellant_margin=_margin(best),
        flight_time=flight.final_time,
    )


def _margin(attempt: Attempt) -> float:
    """Propellant left in the inserting stage beyond the reserve, kg."""
    return attempt.sequence.left(attempt.final_mass)


def _used(vehicle: Vehicle, attempt: Attempt) -> float:
    """Propellant burned, and dropped with spent stages, kg."""
    return vehicle.propellant_mass - _margin(attempt) - attempt.sequence.reserve


def _candidate(vehicle: Vehicle, attempt: Attempt, *, best: bool) -> Candidate:
    used = _used(vehicle, attempt) if attempt.reached else None
    at_least = attempt.reached and not attempt.limited
    standing = Standing.BEST if best else Standing.BEATEN
    if attempt.refined is False and not best:
        standing = Standing.UNCONFIRMED
    if attempt.skipped:
        standing = Standing.SKIPPED
    elif not attempt.reached:
        standing = Standing.SHORT if attempt.shortfall is not None else Standing.UNSOLVED
    return Candidate(
        plan=attempt.plan,
        standing=standing,
        propellant_used=used,
        at_least=at_least,
        shortfall=attempt.shortfall,
        history=attempt.history,
    )


def _out_of_bounds(solving: Solving, refusal: InfeasibleAscent) -> InfeasibleAscent:
    """A refusal by the bound, with what a flight adds to it."""
    nearest = beyond_bound(solving, refusal.shortfall or 0.0)
    if nearest is None:
        return refusal
    found = diagnose(solving, nearest)
    return InfeasibleAscent(
        f"{refusal.message} The flight that comes nearest is short by {found.shortfall:.1f} m/s. "
        f"{found.advice}",
        shortfall=max(refusal.shortfall or 0.0, found.shortfall),
        best=(_candidate(solving.vehicle, nearest, best=False),),
        diagnosis=found,
    )


def _infeasible(solving: Solving, attempts: list[Attempt]) -> InfeasibleAscent:
    vehicle = solving.vehicle
    known = [attempt for attempt in attempts if attempt.shortfall is not None]
    candidates = tuple(_candidate(vehicle, attempt, best=False) for attempt in attempts)
    listed = "; ".join(f"{one.plan}: {one.result}" for one in candidates)
    breaking = [
        f"{attempt.plan}: {', '.join(attempt.broken)}" for attempt in attempts if attempt.broken
    ]
    if breaking and not known:
        return InfeasibleAscent(
            f"{vehicle.name}: no flight to the orbit was found within the limits. The mildest that "
            f"was found bears {'; '.join(breaking)}. Raise that limit, let the engine throttle "
            "further, or take payload off.",
            best=candidates,
        )
    if not known:
        return InfeasibleAscent(
            f"{vehicle.name}: no flight to the orbit was found, nor how much speed is missing "
            f"({listed}). Relax a limit, or try with a lighter payload to see what flies.",
            best=candidates,
        )
    closest = min(known, key=lambda attempt: attempt.shortfall or 0.0)
    found = diagnose(solving, closest) if closest.nearest is not None else None
    advice = "" if found is None else f" {found.advice}"
    return InfeasibleAscent(
        f"{vehicle.name}: the orbit cannot be reached; short by {closest.shortfall:.1f} m/s "
        f"({listed}). Add propellant, take payload off, lower the orbit or relax a limit.{advice}",
        shortfall=closest.shortfall,
        best=candidates,
        diagnosis=found,
    )
