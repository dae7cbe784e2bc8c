"""Meshes to start from: as coarse as each kind of arc bears."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import ceil

from ascentopt.collocation import Guess, RadauMesh
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.optimal.guess.flown_arcs import FlownArc, even_in_phase
from ascentopt.world.gravity import surface_time_scale

# Interval lengths as fractions of sqrt(R^3/mu), 806 s on the Earth. In the lower air, tables and
# limits bend the solution: short intervals of low degree. Outside it is smooth: few, of degree 5.
# Found by trying on launchers from the Earth: half as many lose more rounds than they save.
IN_AIR, OUTSIDE = 0.027, 0.30
LEAST, MOST_IN_AIR, MOST_OUTSIDE = 2, 10, 8

BRIEF = 0.05
"""Of sqrt(R^3/mu), 40 s on the Earth: in a shorter burn the direction of thrust hardly turns, and
where it points at each of many nodes is worth nothing: as many directions in which the solver has
no answer. A few nodes have one, and refinement brings more where they are wanted."""

LAST_CUT = 0.9
"""Share of a rise beyond which it is not cut: its length is a guess, and what is left too short."""

BRIEF_BURN = RadauMesh.uniform(intervals=1, degree=3)


@dataclass(frozen=True, eq=False)
class MeshedGuess:
    """A guess, and the meshes that the arcs of its sequence begin on."""

    meshes: tuple[RadauMesh, ...]
    guess: Guess


def first_meshes(sequence: Sequence, flown: tuple[FlownArc, ...]) -> tuple[RadauMesh, ...]:
    """One mesh for each arc, by the length of the arc in the flown guess."""
    return tuple(
        first_mesh(arc, float(one.times[-1] - one.times[0]))
        for arc, one in zip(sequence.arcs, flown, strict=True)
    )


def first_mesh(arc: FlightArc, length: float) -> RadauMesh:
    """The mesh of an arc that takes ``length`` s."""
    return _mesh(
        arc, length / surface_time_scale(arc.kind.body), in_air=arc.kind.body.atmosphere is not None
    )


def mesh_outside(arc: FlightArc, length: float) -> RadauMesh:
    """As `first_mesh`, for an arc outside the air that is known to be about so long."""
    if arc.burning and length < BRIEF * surface_time_scale(arc.kind.body):
        return BRIEF_BURN
    return _mesh(arc, length / surface_time_scale(arc.kind.body), in_air=False)


def mesh_of_part(arc: FlightArc, length: float) -> RadauMesh:
    """As `mesh_outside`, but for a first stage's arc, part of whose flight is in the air.

    On few intervals it would climb through the thickest air between two nodes, and gain by that
    some per cent of the mass in orbit, which no finer mesh confirms.
    """
    return first_mesh(arc, length) if _in_air(arc) else mesh_outside(arc, length)


def mesh_along(flown: FlownArc) -> RadauMesh:
    """As `mesh_outside`, for an arc that was flown; the intervals of a coast equal in its phase."""
    length = float(flown.times[-1] - flown.times[0])
    return with_equal_phases(mesh_outside(flown.arc, length), flown.arc, length, flown.states[0])


def with_equal_phases(mesh: RadauMesh, arc: FlightArc, length: float, state: Array) -> RadauMesh:
    """The mesh of an arc; where it coasts from a state its intervals are equal in its phase."""
    if not arc.free_coast:
        return mesh
    mu = arc.kind.body.gravitational_parameter
    return replace(mesh, breaks=tuple(even_in_phase(mu, state, length, len(mesh.degrees))))


def outgrown(arc: FlightArc, mesh: RadauMesh, length: float) -> bool:
    """Whether an arc has become much longer than its mesh was made for."""
    if _in_air(arc) or arc.free_coast:
        return 2 * len(mesh.degrees) < len(first_mesh(arc, length).degrees)
    return mesh == BRIEF_BURN and length > 2.0 * BRIEF * surface_time_scale(arc.kind.body)


def _in_air(arc: FlightArc) -> bool:
    """Whether tables and limits of the lower air may bend what happens in an arc."""
    return arc.stage == 0 and arc.kind.body.atmosphere is not None


def _mesh(arc: FlightArc, length: float, *, in_air: bool) -> RadauMesh:
    if arc.rise is not None:
        return _mesh_of_rise(arc, length * surface_time_scale(arc.kind.body))
    if not arc.burning and arc.fixed:
        return RadauMesh.uniform(intervals=1, degree=3)
    if arc.stage == 0 and in_air:
        count = min(max(ceil(length / IN_AIR), LEAST), MOST_IN_AIR)
        return RadauMesh.uniform(intervals=count, degree=4)
    count = min(max(ceil(length / OUTSIDE), LEAST), MOST_OUTSIDE)
    return RadauMesh.uniform(intervals=count, degree=5)


def _mesh_of_rise(arc: FlightArc, seconds: float) -> RadauMesh:
    """One interval, cut where the thrust of motors bends: while it builds up it does so sharply.

    Within one interval a build-up of tenths of a second is passed between two nodes; what that
    errs by is metres at the end of the rise, and limits that bite later are met by nothing then.
    """
    own, kind = arc.parameters, arc.kind
    curves = [(kind.core_curve, own.core_ignition)] if kind.core_curve is not None else []
    curves += zip((motor for motor, _ in kind.side_curves), own.side_ignitions, strict=True)
    points = (time + lit for motor, lit in curves for time in motor.time)
    shares = {point / seconds for point in points} if seconds > 0.0 else set()
    cuts = sorted(share for share in shares if 0.0 < share < LAST_CUT)
    return RadauMesh(
        breaks=(0.0, *cuts, 1.0),
        degrees=(3,) * len(cuts) + (4,),
        straight=(False,) * (len(cuts) + 1),
    )
