"""The optimiser's solution as an ascent keeps it, so that a neighbour can be solved from it."""

from __future__ import annotations

from dataclasses import dataclass, replace
from typing import Self

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.collocation import RadauMesh, restored
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.problem.full_throttle import burns_held_at_full_throttle
from ascentopt.optimal.problem.phase_model import arcs_in_elements
from ascentopt.optimal.problem.transcription import Transcription, lead_of, led_by
from ascentopt.optimal.problem.violations import (
    is_without_help_of_drag,
    without_load_limits,
)
from ascentopt.persistence import Result
from ascentopt.rocket import Vehicle
from ascentopt.tables import one_line
from ascentopt.typing import Floats


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class SolvedProgram(Result):
    """A nonlinear program's solution with its multipliers, and how the program was written.

    It decides nothing of the ascent it belongs to; what is solved from it has a certificate of its
    own. The vectors are scaled, and in the order of this version's programs.

    Args:
        plan: the burns and coasts.
        meshes: one for each arc of the plan.
        variables: (n,) unknowns of the program.
        row_multipliers, bound_multipliers: (m,) of its rows and (n,) of bounds of the unknowns.
        lead: (6,) m and m/s by which the plan leads the flight, so that this ends in the orbit.
        limited_arcs: names of arcs on which limits that need air are imposed.
        in_elements: indices of arcs that are told in elements of the orbit.
        full_throttle: names of burns held at full throttle.
        without_help_of_drag, needs_ground_clearance: what the flight is held to beside.
        awaited: whether the instant of lift-off was free, and no node or apsides asked for.
        keeps_limits: whether it is within the limits on loads, or was solved without them.
        finer: kg more that the flight takes on these meshes than on first ones.
        strayed: kg by which what was foretold from it, for cases further on, may be off.
    """

    plan: FlightPlan
    meshes: tuple[RadauMesh, ...]
    variables: Floats
    row_multipliers: Floats
    bound_multipliers: Floats
    lead: Floats
    limited_arcs: tuple[str, ...]
    in_elements: tuple[int, ...]
    full_throttle: tuple[str, ...]
    without_help_of_drag: bool
    needs_ground_clearance: bool
    awaited: bool = False
    keeps_limits: bool = True
    finer: float = 0.0
    strayed: float = 0.0

    @classmethod
    def of(cls, attempt: Attempt, finer: float = 0.0) -> Self:
        """What an attempt's solution is restored from."""
        found, raw = attempt.found, attempt.found.raw
        return cls(
            plan=attempt.plan,
            meshes=tuple(own.arc.mesh for own in found.arcs),
            variables=raw.x,
            row_multipliers=raw.lam_g,
            bound_multipliers=raw.lam_x,
            lead=np.array(lead_of(found.problem)),
            limited_arcs=tuple(sorted(attempt.limited_arcs)),
            in_elements=arcs_in_elements(found),
            full_throttle=tuple(sorted(burns_held_at_full_throttle(attempt.sequence, found))),
            without_help_of_drag=is_without_help_of_drag(found),
            needs_ground_clearance=attempt.needs_ground_clearance,
            keeps_limits=attempt.keeps_limits,
            finer=finer,
        )

    @property
    def asks_no_limits(self) -> bool:
        """Whether it was written without limits on loads.

        One that was solved from a neighbour's has them on its arcs, before any of them is looked
        at: then it is not known either whether the flight keeps them.
        """
        return not self.keeps_limits and not self.limited_arcs

    def attempt(self, vehicle: Vehicle, mission: Mission) -> Attempt:
        """The attempt again, at the vehicle and mission that were solved, or near them.

        Raises:
            InputError: where the vectors do not fit: made by another version, or damaged.
        """
        sequence = sequence_of(vehicle, mission, self.plan)
        if self.asks_no_limits:
            mission = replace(mission, limits=without_load_limits(mission.limits))
        written = Transcription(
            vehicle=vehicle,
            mission=mission,
            sequence=sequence,
            meshes=self.meshes,
            limited_arcs=frozenset(self.limited_arcs),
            in_elements=self.in_elements,
            full_throttle=frozenset(self.full_throttle),
            without_help_of_drag=self.without_help_of_drag,
            needs_ground_clearance=self.needs_ground_clearance,
        )
        problem = led_by(written.greatest_mass_problem(), self.lead)
        vectors = self.variables, self.row_multipliers, self.bound_multipliers
        return Attempt(
            plan=self.plan,
            sequence=sequence,
            solution=restored(problem, vectors),
            limited_arcs=frozenset(self.limited_arcs),
            shortfall=0.0,
            history=(),
            keeps_limits=self.keeps_limits,
            needs_ground_clearance=self.needs_ground_clearance,
            refined=True,
        )

    def with_instant_free(self) -> Self:
        """The same, of a flight that was turned to the node or apsides it waited for."""
        return replace(self, awaited=True)

    def __repr__(self) -> str:
        return one_line(self, self.plan, f"{len(self.variables)} unknowns")
