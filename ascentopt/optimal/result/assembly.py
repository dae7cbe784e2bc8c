"""A result made of what was found: the ascent put together, or how a structure came out."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.errors import UnconfirmedAscent
from ascentopt.flight.results.excess import CERTIFIED_EXCESS
from ascentopt.flight.results.limit_check import peaks
from ascentopt.flight.simulation.simulate import fly
from ascentopt.optimal.attempt import Attempt, Standing
from ascentopt.optimal.perturbations import Case
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.candidate import Candidate
from ascentopt.optimal.result.certificate import certify
from ascentopt.optimal.result.closed_loop import ClosedLoopFlight
from ascentopt.optimal.result.partials import partials_of
from ascentopt.optimal.solved_program import SolvedProgram
from ascentopt.optimal.structure.census import Census
from ascentopt.optimal.task import Task
from ascentopt.rocket import Vehicle


@dataclass(frozen=True, eq=False)
class ComparedStructures:
    """What an answer was compared with.

    Attributes:
        others: the attempts beside it.
        finer: kg more that the answer takes on its last meshes than on its first, like theirs.
        census: of the structures.
        elsewhere: structures that were solved in a neighbouring case, and stay beaten here.
    """

    others: tuple[Attempt, ...] = ()
    finer: float = 0.0
    census: Census | None = None
    elsewhere: tuple[Candidate, ...] = ()


NEARLY_AS_GOOD = 0.01
"""Share of the propellant up to which a structure's solution is kept for neighbouring cases. Beaten
by more it takes a change of a tenth or so to become the best, and is then begun from guesses."""


def ascent_of(task: Task, arrival: ClosedLoopFlight, beaten: ComparedStructures) -> Ascent:
    """The ascent that has arrived, with the attempts that it beat."""
    best, flight, vehicle = arrival.attempt, arrival.flight, task.vehicle
    certificate = certify(best, flight, task.mission.limits, vehicle.max_heating)
    least = best.unspent - NEARLY_AS_GOOD * vehicle.propellant_mass
    return Ascent(
        vehicle=vehicle,
        mission=task.mission,
        plan=best.flown_plan,
        steering=arrival.steering,
        trajectory=flight.trajectory,
        events=flight.events,
        budget=flight.budget,
        certificate=replace(certificate, structures=beaten.census),
        candidates=(
            candidate_of(vehicle, best, best=True),
            *(
                _with_program(
                    candidate_of(vehicle, one, best=False, finer=beaten.finer), one, least
                )
                for one in beaten.others
            ),
            *beaten.elsewhere,
        ),
        partials=partials_of(Case(vehicle, task.mission), best),
        final_mass=best.final_mass,
        propellant_used=_used(vehicle, best),
        propellant_margin=_margin(best),
        flight_time=flight.final_time,
        solved_program=SolvedProgram.of(best, beaten.finer),
    )


def _with_program(candidate: Candidate, attempt: Attempt, least: float) -> Candidate:
    """A candidate with its solution, where that ends in the orbit and leaves so many kg at least.

    Also where it is beaten without the limits on loads, and they were not asked.
    """
    if not attempt.reached or attempt.unspent < least:
        return candidate
    return replace(candidate, solved_program=SolvedProgram.of(attempt))


def confirmed(ascent: Ascent) -> Ascent:
    """The ascent, where its independent flight bears it out.

    Raises:
        UnconfirmedAscent: where that misses by so much that it is no answer.
    """
    far = ascent.certificate.far_beyond()
    if not far:
        return ascent
    lines = str(ascent.certificate).splitlines()
    told = "; ".join(" ".join(line.split()) for line in lines if _names_one_of(line, far))
    raise UnconfirmedAscent(
        f"{ascent.vehicle.name}: a flight to the orbit was found ({ascent.plan}), but the "
        f"independent flight of its steering does not bear it out: {told}. It is kept in `best`. "
        f"{_way_out(ascent, far)}",
        best=ascent,
    )


def _way_out(ascent: Ascent, far: tuple[str, ...]) -> str:
    """What to change: the limits that are broken by name."""
    if "limit_excess" not in far:
        return "Loosen a limit, or give the vehicle more propellant, and solve again."
    flight = fly(ascent.vehicle, ascent.mission, ascent.steering)
    found = peaks(flight, ascent.mission.limits, ascent.vehicle.max_heating)
    broken = sorted(
        (one for one in found if one.share > CERTIFIED_EXCESS), key=lambda one: -one.share
    )
    told = "; ".join(map(str, broken))
    return (
        f"The search found no way to keep: {told}. Raise that limit, or give the vehicle less "
        "thrust in the air, and solve again."
    )


def _names_one_of(line: str, names: tuple[str, ...]) -> bool:
    return any(line.strip().startswith(name.replace("_", " ")) for name in names)


def _margin(attempt: Attempt) -> float:
    """Propellant left aboard beyond the reserve, kg."""
    if attempt.sequence.ballasted:
        return attempt.sequence.untouched
    return attempt.sequence.propellant_left(attempt.cut_off_mass)


def _used(vehicle: Vehicle, attempt: Attempt) -> float:
    """Propellant burned, and dropped with spent stages, kg."""
    return vehicle.propellant_mass - _margin(attempt) - attempt.sequence.reserve


def candidate_of(
    vehicle: Vehicle, attempt: Attempt, *, best: bool, finer: float = 0.0
) -> Candidate:
    """How an attempt came out, for the list.

    ``finer`` is how many kg more the best one takes on its last meshes than on its first: what was
    solved on first meshes alone is told on the same footing.
    """
    used = _used(vehicle, attempt) if attempt.reached else None
    if used is not None and attempt.refined is None:
        used += finer
    at_least = attempt.reached and not attempt.keeps_limits
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
