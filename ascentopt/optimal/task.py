"""What is asked, and with how much patience."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from logging import getLogger
from typing import Any, Self

from ascentopt.collocation import Refinement, RememberedSolves, SolverSettings
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.flight.plan import FlightPlan
from ascentopt.mission import Mission
from ascentopt.optimal.deadline import settings_until
from ascentopt.optimal.perturbations import Case
from ascentopt.progress import Deadline, Watch
from ascentopt.rocket import Vehicle

ENOUGH_ITERATIONS = 70
"""Iterations after which a start is given up for another one. Nine of ten guesses that lead
anywhere take 50 or fewer, and one that does not costs the time of five that do; good steps towards
the limits take 10 to 60."""

WARM_ITERATIONS = 40
"""The same with the multipliers of a neighbour's solution: those that lead anywhere take 3 to 30,
and half a step, or the trajectory alone, is the better choice then."""

LOG = getLogger("ascentopt.optimal")


def unwatched() -> Watch[Any]:
    """A watch that tells the log alone."""
    return Watch("optimize", LOG)


@dataclass(frozen=True, kw_only=True)
class Task:
    """A vehicle, a mission and the patience to solve for them.

    ``deadline`` is when no solve may begin any more, ``exhaustive`` whether every structure is
    solved for, from every start, and ``hasty`` whether what is not solved at once is left alone, to
    see how things stand.
    What was solved is ``remembered``, also for changed vehicles and missions. ``own_vehicle`` is
    the vehicle with the tank as it is where the task's may be overdrawn, and None elsewhere.
    Steps are told to the ``watch``.
    """

    vehicle: Vehicle
    mission: Mission
    settings: SolverSettings
    refinement: Refinement
    deadline: Deadline = Deadline()
    exhaustive: bool = False
    hasty: bool = False
    remembered: RememberedSolves = field(default_factory=RememberedSolves, compare=False)
    own_vehicle: Vehicle | None = None
    watch: Watch[Any] = field(default_factory=unwatched, compare=False)

    @property
    def case(self) -> Case:
        """The vehicle and the mission, of which each may be exchanged."""
        return Case(self.vehicle, self.mission)

    @property
    def acceleration_limit(self) -> float | None:
        """On axial acceleration, m/s^2; None for none."""
        return self.mission.limits.axial_acceleration

    def settings_in_time(self) -> SolverSettings:
        """Settings of the next solve, with what is left of the time.

        Raises:
            TimeIsUp: when nothing is.
        """
        return self.in_time(self.settings)

    def in_time(self, settings: SolverSettings) -> SolverSettings:
        """Some settings, with no more time than is left. Raises `TimeIsUp` as above."""
        return settings_until(self.deadline, settings)

    def arcs_of(self, plan: FlightPlan) -> Sequence:
        """The arcs of a plan.

        Raises:
            InputError: when the plan asks for what the vehicle cannot do.
        """
        return sequence_of(self.vehicle, self.mission, plan)

    def in_haste(self) -> Self:
        """The same task, without what takes long to be solved."""
        return replace(self, hasty=True)
