"""The vehicle that does a mission best, its masses and thrusts chosen together with its flight."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field, replace
from logging import getLogger
from typing import Any

from ascentopt.arguments import checked
from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort, optimum, task_of
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.lift_off_instant import with_awaited_angles_free
from ascentopt.optimal.solve.relaxed_tank import with_relaxed_tank
from ascentopt.optimal.task import Task
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.first_designs import first_designs
from ascentopt.studies.designs.free import FreeNumber
from ascentopt.studies.designs.law import StructuralLaw
from ascentopt.studies.designs.objective import SizingObjective
from ascentopt.studies.designs.refusals import check_design
from ascentopt.studies.sizing.certified import certified, with_structures_of
from ascentopt.studies.sizing.descent import descent
from ascentopt.studies.sizing.flown import FlownDesign, flown_from, refined
from ascentopt.studies.sizing.prices import Prices
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.together import solved_together
from ascentopt.typing import Floats

_LOG = getLogger("ascentopt.studies")

KEPT = 2e-5
"""Of payload and dry last stage together: what is left in the tank, lest another mesh find the
vehicle a few grams short. It costs about as much of the objective."""

CLOSE = 1e-4
"""Likewise: what another structure of the flight may leave beyond that; with more it is better, and
the search goes on from it."""

MOST_ROUNDS = 6
"""Descents, each from the flight that was solved for anew; one or two do."""


MOST_HALVINGS = 4
"""Times that a vehicle which leaves stages unlit is brought half of the way to its least."""

MOST_MESHES = 5
"""Times that meshes are refined for a design and the design for the meshes; one or two do."""


@checked
def size(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort = Effort(),
    *,
    free: Sequence[FreeNumber] = (),
    laws: Sequence[StructuralLaw] = (),
    objective: SizingObjective,
    progress: Progress[Sizing] | None = None,
    time_limit: float | None = None,
) -> Sizing:
    """Return the best vehicle within bounds, sized together with its flight.

    The described vehicle, or one within the bounds that flies, is optimised first. From there the
    free numbers are unknowns of one program with the flight (not so a budget, an area, and laws
    that are tangents), and go downhill to the last gram: each design's flight is followed from the
    last one and optimal again, so that its slopes say exactly, to first order, what each number is
    worth. For the vehicle that comes out all structures of the flight are searched anew, from
    nothing; where another one does better the search goes on from that. Like any search by slopes
    it finds a best design near where it began; of several it does not tell.

    Args:
        vehicle, mission: as in `optimize`; what is not free stays as described.
        effort: as in `optimize`, for every ascent.
        free: what may change, each between bounds: `FreePropellant`, `FreeThrust` and
            `FreeReferenceArea`.
        laws: dry masses of stages by what changes; each stage with a free number needs one. A stage
            that has one weighs by it, free or not.
        objective: `LeastLiftOffMass`, `LeastCost` or `GreatestPayload`.
        progress: is given a `Step` for each ascent and each design; its ``so_far`` is the last
            vehicle that was optimised, marked as unfinished.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: what cannot be sized: unknown stages, a stage without a law, solid motors,
            nothing free, a payload without a budget.
        InfeasibleAscent: no vehicle within the bounds was found that flies.
        Interrupted: by the keyboard; `best` is the last vehicle that was certified.
        OutOfTime: likewise, when the time is up.
    """
    design = DesignSpace(vehicle=vehicle, free=tuple(free), laws=tuple(laws), objective=objective)
    check_design(design)
    watch = Watch("size", _LOG, progress, time_limit)
    search = _Search(design, mission, effort, watch)
    with watch.carrying("sized vehicle", search.so_far):
        return search.best()


@dataclass(eq=False)
class _Search:
    design: DesignSpace
    mission: Mission
    effort: Effort
    watch: Watch[Sizing]
    history: list[str] = field(default_factory=list)
    latest: tuple[FlownDesign, Ascent] | None = None

    def so_far(self) -> Sizing | None:
        """The last vehicle that was certified; None before."""
        return None if self.latest is None else self._result(*self.latest, settled=False)

    def best(self) -> Sizing:
        """Descend, search the structures of the flight anew, and go on while that does better."""
        flown, searched = self._begun()
        kept, before = KEPT * self._empty(flown), None
        self._certified(flown, searched)
        for _ in range(MOST_ROUNDS):
            flown, settled = self._settled(self._solved_at_once(flown, kept), kept)
            self._certified(flown, searched)
            again, searched = self._searched(flown.values)
            gained, close = again.margin - flown.margin, CLOSE * self._empty(again)
            if gained <= close:  # on meshes of its own, unless the search lost the flight at hand
                lost = gained < -close and again.attempt.plan != flown.attempt.plan
                flown, settled = self._settled(flown if lost else again, kept)
                ascent = self._certified(flown, searched)
                if settled and ascent is not None:
                    return self._result(flown, ascent, settled=True)
                if ascent is not None and before is not None and self._gain(before, flown) < CLOSE:
                    break  # held by what is no bound, such as another sequence of arcs
                before, kept = flown, kept * (1.0 if ascent is not None else 3.0)
            else:
                flown = again
        if self.latest is None:
            raise InfeasibleAscent(f"size: {self.design.vehicle.name}: no design was certified.")
        return self._result(*self.latest, settled=False)

    def _gain(self, before: FlownDesign, after: FlownDesign) -> float:
        """Share of the objective by which a design is better than one before."""
        worth = self.design.worth
        return float(worth @ (before.values - after.values)) / abs(float(worth @ before.values))

    def _empty(self, flown: FlownDesign) -> float:
        """Payload and dry last stage, kg."""
        vehicle = self.design.vehicle_at(flown.values)
        return vehicle.payload_mass + vehicle.stages[-1].dry_mass

    def _begun(self) -> tuple[FlownDesign, Ascent]:
        """The first of a few designs that flies; what the first one lacks where none does."""
        first: InfeasibleAscent | InputError | None = None
        for values in first_designs(self.design):
            try:
                return self._with_all_stages_lit(*self._searched(values))
            except (InfeasibleAscent, InputError) as refusal:
                first = first or refusal
        if isinstance(first, InputError):
            raise first
        short = None if first is None else first.shortfall
        raise InfeasibleAscent(
            f"size: no vehicle within the bounds was found that flies. {first}", shortfall=short
        )

    def _with_all_stages_lit(
        self, flown: FlownDesign, searched: Ascent
    ) -> tuple[FlownDesign, Ascent]:
        """A lighter design, where the first one leaves stages unlit: sized so they never would be.

        The first one stands where none that is lighter lights them all.
        """
        first = flown, searched
        for _ in range(MOST_HALVINGS):
            if self.design.seeks_payload or not flown.attempt.plan.unlit:
                break
            try:
                less = 0.5 * (self.design.lower + flown.values)
                flown, searched = self._searched(less)
            except (InfeasibleAscent, InputError):
                break
        return first if flown.attempt.plan.unlit else (flown, searched)

    def _searched(self, values: Floats) -> tuple[FlownDesign, Ascent]:
        """The best structure for a design, with a tank that may be overdrawn, and its flight."""
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
        self._note(f"{told}: {found.ascent.plan}, {flown.margin:+.3f} kg left")
        return flown, found.ascent

    def _certified(self, flown: FlownDesign, searched: Ascent) -> Ascent | None:
        """The design's own ascent, on fine meshes; None where it does not quite fly.

        It says of other structures what their search said, where it has come to the same.
        """
        vehicle = self.design.vehicle_at(flown.values)
        self.watch.begins(f"ascent of {in_words(vehicle)}")
        own = replace(self._task(), vehicle=vehicle)
        ascent = certified(own, self.mission, flown.attempt)
        if ascent is None:
            return None
        ascent = with_structures_of(ascent, searched)
        self.latest = flown, ascent
        self._note(f"ascent of {in_words(vehicle)}: {ascent.certificate.verdict.name.lower()}")
        return ascent

    def _solved_at_once(self, flown: FlownDesign, kept: float) -> FlownDesign:
        """The best design by one program; as it was where that does not lead to a better one."""
        self.watch.begins("numbers and flight in one program")
        found = solved_together(self.design, self._task(), flown, kept)
        if found is None:
            return flown
        worth = self.design.worth
        if flown.margin >= kept and worth @ found.values >= worth @ flown.values:
            return flown
        vehicle = self.design.vehicle_at(found.values)
        self._note(f"in one program {in_words(vehicle)}: {found.margin:+.3f} kg left")
        return found

    def _settled(self, flown: FlownDesign, kept: float) -> tuple[FlownDesign, bool]:
        """The best design on meshes that are fine enough for its flight, and whether it is."""
        settled = False
        for _ in range(MOST_MESHES):
            flown, settled = self._descended(flown, kept)
            fine = refined(self.design, self._task(), flown)
            if fine is None or abs(fine.margin - flown.margin) <= 0.5 * kept:
                return fine or flown, settled
            self._note(f"on finer meshes: {fine.margin:+.3f} kg left")
            flown = fine
        return flown, False

    def _descended(self, flown: FlownDesign, kept: float) -> tuple[FlownDesign, bool]:
        settled = False
        for step in descent(self.design, self._task(), flown, kept):
            moved, flown, settled = step.best is not flown, step.best, step.settled
            if moved:
                vehicle = self.design.vehicle_at(flown.values)
                self._note(f"{in_words(vehicle)}: {flown.margin:+.3f} kg left")
        return flown, settled

    def _task(self) -> Task:
        mission = with_awaited_angles_free(self.mission)
        return task_of(self.design.vehicle, mission, self.effort, self.watch)

    def _inner(self) -> Watch[Any]:
        return self.watch.inside("optimize", getLogger("ascentopt.optimal"))

    def _note(self, line: str) -> None:
        self.history.append(line)
        self.watch.finishes(line)

    def _result(self, flown: FlownDesign, ascent: Ascent, *, settled: bool) -> Sizing:
        design, vehicle = self.design, ascent.vehicle
        prices = Prices.of(design, flown, CLOSE * self._empty(flown))
        value = vehicle.payload_mass if design.seeks_payload else design.cost_of(vehicle)
        return Sizing(
            given=design.vehicle,
            objective=design.objective,
            laws=design.laws,
            numbers=prices.numbers,
            value=value,
            exchange=prices.exchange,
            objective_slope=prices.objective_slope,
            kept=ascent.propellant_margin,
            ascent=ascent,
            settled=settled,
            history=tuple(self.history),
        )


def in_words(vehicle: Vehicle) -> str:
    """A design by its two main masses."""
    return f"{vehicle.lift_off_mass:.2f} kg with {vehicle.payload_mass:.2f} kg of payload"
