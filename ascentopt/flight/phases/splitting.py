"""Stretches of a flight that share one duration, and what cuts them."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace

from ascentopt.errors import InputError
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import FlightArc, Joint, TimeSpan
from ascentopt.flight.plan import FlightPlan
from ascentopt.rocket import Vehicle


@dataclass(frozen=True)
class Leg:
    """Arcs that share one duration: a single arc, or the pieces that one was cut into."""

    arcs: tuple[FlightArc, ...]
    duration: tuple[float, float]

    @classmethod
    def of(cls, arc: FlightArc) -> Leg:
        """A single arc with its own duration."""
        return cls((arc,), arc.duration)


def spans_of(legs: list[Leg]) -> Iterator[TimeSpan]:
    """Durations of legs of several arcs; those of single arcs are the arcs' own."""
    first = 0
    for leg in legs:
        last = first + len(leg.arcs)
        if len(leg.arcs) > 1:
            shortest, longest = leg.duration
            yield TimeSpan(first=first, last=last, shortest=shortest, longest=longest)
        first = last


def named_apart(legs: list[Leg]) -> list[Leg]:
    """Number arcs that would share a name, such as a core alone between groups of boosters.

    Before anything names an arc: a plan must say which of them the fairing leaves in.
    """
    names: list[str] = []
    return [replace(leg, arcs=tuple(_numbered(arc, names) for arc in leg.arcs)) for leg in legs]


def _numbered(arc: FlightArc, names: list[str]) -> FlightArc:
    names.append(arc.name)
    again = names.count(arc.name)
    return replace(arc, name=f"{arc.name} ({again})") if again > 1 else arc


def with_turning_arcs(arcs: list[FlightArc], plan: FlightPlan) -> tuple[FlightArc, ...]:
    """The arcs, those of the plan with a direction that turns at a limited rate."""
    steered = [arc.name for arc in arcs if arc.kind.guidance is Guidance.STEERED]
    strange = [name for name in plan.turning_arcs if name not in steered]
    if strange:
        raise InputError(
            f"FlightPlan: turning_arcs has {strange}; the steered arcs are {steered}. Name these."
        )
    return tuple(
        replace(arc, kind=replace(arc.kind, direction_is_state=True))
        if arc.name in plan.turning_arcs
        else arc
        for arc in arcs
    )


def upright(kind: ArcKind) -> ArcKind:
    """The same kind with the thrust along the local vertical."""
    return replace(kind, guidance=Guidance.VERTICAL, direction_is_state=False)


def with_fairing_drop(legs: list[Leg], vehicle: Vehicle, plan: FlightPlan) -> list[Leg]:
    """Cut the arc during which the fairing goes, and take its mass off everything after."""
    if vehicle.fairing is None or plan.fairing_arc is None:
        return legs
    names = [arc.name for leg in legs for arc in leg.arcs]
    if plan.fairing_arc not in names:
        raise InputError(
            f"FlightPlan: fairing_arc is {plan.fairing_arc!r}; the arcs are {names}. Name one."
        )
    mass, gone, result = vehicle.fairing.mass, False, []
    for place, leg in enumerate(legs):
        arcs: list[FlightArc] = []
        for arc in leg.arcs:
            cut = arc.name == plan.fairing_arc
            whole = _by_flight_clock(arc, legs[:place]) if cut else arc
            if cut and whole.kind.core_clock_starts and plan.ballast is None:
                raise InputError(
                    f"FlightPlan: fairing_arc is {plan.fairing_arc!r}, a solid motor lit at a free "
                    "instant; with ballast to be found nothing tells how far it has burned when "
                    "the fairing goes. Name another arc."
                )
            arcs += (
                _cut_by_fairing(whole, vehicle) if cut else [_lighter(arc, mass) if gone else arc]
            )
            gone = gone or cut
        result.append(Leg(tuple(arcs), leg.duration))
    return result


def _by_flight_clock(arc: FlightArc, before: list[Leg]) -> FlightArc:
    """A solid motor's curve against the clock since lift-off, so that it runs on through a cut.

    The time of ignition must be known for that; see `_by_mass` for where it is not.
    """
    known = all(leg.duration[0] == leg.duration[1] for leg in before)
    if not (arc.kind.core_clock_starts and known):
        return arc
    lit = arc.parameters.core_ignition + sum(leg.duration[0] for leg in before)
    return arc.with_core_ignition(replace(arc.kind, core_clock_starts=False), lit)


def _by_mass(arc: FlightArc, vehicle: Vehicle) -> FlightArc:
    """The later piece of a solid motor's burn that began at a free instant.

    Its elapsed time is not the motor's, but what has been burned tells that as well: what the stage
    is lit with is known, whenever that is.
    """
    if not arc.kind.core_clock_starts:
        return arc
    kind = replace(arc.kind, core_clock_starts=False, core_by_mass=True)
    return arc.with_core_ignition(kind, vehicle.mass_above(arc.stage - 1) - vehicle.fairing_mass)


def _cut_by_fairing(arc: FlightArc, vehicle: Vehicle) -> list[FlightArc]:
    """Two pieces of a burn; a coast drops it at its end, since when within it is worth nothing."""
    mass = vehicle.fairing_mass
    joint = Joint(event="fairing drop", mass_drop=mass, fairing=True)
    if not arc.burning:
        return [replace(arc, joint=replace(joint, also=arc.joint.event))]
    either = (0.0, arc.duration[1])
    lighter = _lighter(_by_mass(arc, vehicle), mass)
    bare = replace(lighter, name=f"{arc.name}, bare", duration=either)
    return [replace(arc, duration=either, joint=joint), bare]


def _lighter(arc: FlightArc, mass: float) -> FlightArc:
    joint = arc.joint
    if joint.mass_after is not None:
        joint = replace(joint, mass_after=joint.mass_after - mass)
    return replace(arc, least_mass=arc.least_mass - mass, joint=joint)
