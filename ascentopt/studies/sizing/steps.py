"""What a search for the best design is made of: a design searched, descended, certified."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from logging import getLogger
from typing import Any

from ascentopt.errors import InfeasibleAscent
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.lift_off_instant import with_awaited_angles_free
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.task import Task
from ascentopt.progress import Watch
from ascentopt.studies.designs.design_space import DesignSpace, in_words
from ascentopt.studies.sizing.certified import certified, with_structures_of
from ascentopt.studies.sizing.descent import descent
from ascentopt.studies.sizing.flown import FlownDesign, flown_from, refined
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.together import solved_together
from ascentopt.typing import Floats

MOST_MESHES = 5
"""Times that meshes are refined for a design and the design for the meshes; one or two do."""


@dataclass(frozen=True, kw_only=True, eq=False)
class Certified:
    """A design with its own ascent.

    Attributes:
        flown: the design.
        ascent: on fine meshes, certified or doubted like any other.
    """

    flown: FlownDesign
    ascent: Ascent


@dataclass(eq=False)
class Steps:
    """Of the search for the best design of a space, and what they left.

    Args:
        design: the vehicles.
        mission, effort: as the user gave them.
        watch: is told of each step.
        history: a line for each of them.
        latest: the last design that was certified; None before.
    """

    design: DesignSpace
    mission: Mission
    effort: Effort
    watch: Watch[Sizing]
    history: list[str] = field(default_factory=list)
    latest: Certified | None = None

    def searched(self, values: Floats) -> tuple[FlownDesign, Ascent]:
        """The best structure for a design, with a tank that may be overdrawn, and its flight.

        Raises:
            InfeasibleAscent: where nothing flies, or what does has no slopes.
            InputError: where there is no such vehicle, or it does not lift off.
        """
        vehicle = self.design.vehicle_at(values)
        told = f"structures for {in_words(vehicle)}"
        self.watch.begins(told)
        deep = with_relaxed_tank(replace(self._task(), vehicle=vehicle)).vehicle
        found = optimum(deep, self.mission, self.effort, self._inner())
        flown = flown_from(self.design, self._task(), values, found.attempt)
        if flown is None:
            raise InfeasibleAscent(
                f"size: the flight of {vehicle.name} has no slopes by which to size it: the least "
                "change makes another sequence of arcs. Start from another vehicle."
            )
        self.note(f"{told}: {found.ascent.plan}, {flown.margin:+.3f} kg left")
        return flown, found.ascent

    def certified(self, flown: FlownDesign, searched: Ascent) -> Certified | None:
        """The design's own ascent, on fine meshes; None where it does not quite fly.

        It says of other structures what their search said, where it has come to the same.
        """
        vehicle = self.design.vehicle_at(flown.values)
        self.watch.begins(f"ascent of {in_words(vehicle)}")
        own = replace(self._task(), vehicle=vehicle)
        ascent = certified(own, self.mission, flown.attempt)
        if ascent is None:
            return None
        self.latest = Certified(flown=flown, ascent=with_structures_of(ascent, searched))
        self.note(f"ascent of {in_words(vehicle)}: {ascent.certificate.verdict.name.lower()}")
        return self.latest

    def solved_at_once(self, flown: FlownDesign, kept: float) -> FlownDesign:
        """The best design by one program; as it was where that does not lead to a better one."""
        self.watch.begins("numbers and flight in one program")
        found = solved_together(self.design, self._task(), flown, kept)
        if found is None:
            return flown
        worth = self.design.worth
        if flown.margin >= kept and worth @ found.values >= worth @ flown.values:
            return flown
        vehicle = self.design.vehicle_at(found.values)
        self.note(f"in one program {in_words(vehicle)}: {found.margin:+.3f} kg left")
        return found

    def settled(self, flown: FlownDesign, kept: float) -> tuple[FlownDesign, bool]:
        """The best design on meshes that are fine enough for its flight, and whether it is."""
        settled = False
        for _ in range(MOST_MESHES):
            flown, settled = self.descended(flown, kept)
            fine = refined(self.design, self._task(), flown)
            if fine is None or abs(fine.margin - flown.margin) <= 0.5 * kept:
                return fine or flown, settled
            self.note(f"on finer meshes: {fine.margin:+.3f} kg left")
            flown = fine
        return flown, False

    def descended(self, flown: FlownDesign, kept: float) -> tuple[FlownDesign, bool]:
        """The best design on the meshes at hand, and whether the descent has settled."""
        settled = False
        for step in descent(self.design, self._task(), flown, kept):
            moved, flown, settled = step.best is not flown, step.best, step.settled
            if moved:
                vehicle = self.design.vehicle_at(flown.values)
                self.note(f"{in_words(vehicle)}: {flown.margin:+.3f} kg left")
        return flown, settled

    def note(self, line: str) -> None:
        """Keep a line, and tell it."""
        self.history.append(line)
        self.watch.finishes(line)

    def _task(self) -> Task:
        mission = with_awaited_angles_free(self.mission)
        return task_of(self.design.vehicle, mission, self.effort, self.watch)

    def _inner(self) -> Watch[Any]:
        return self.watch.inside("optimize", getLogger("ascentopt.optimal"))
