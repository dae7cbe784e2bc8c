"""The vehicle that does a mission best, its masses and thrusts chosen together with its flight."""

from __future__ import annotations

from collections.abc import Sequence
from logging import getLogger

from ascentopt.arguments import checked
from ascentopt.mission import Mission
from ascentopt.optimal.optimize import Effort
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.rocket.structural_law import StructuralLaw
from ascentopt.studies.designs.design_space import DesignSpace
from ascentopt.studies.designs.free import FreeNumber
from ascentopt.studies.designs.lift import check_lift
from ascentopt.studies.designs.objective import SizingObjective
from ascentopt.studies.designs.refusals import check_design
from ascentopt.studies.sizing.search import Search
from ascentopt.studies.sizing.sized import Sizing
from ascentopt.studies.sizing.steps import Steps

_LOG = getLogger("ascentopt.studies")


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
    nothing; where another one does better the search goes on from that.

    Like any search by slopes it finds a best design near where it began. Where it settles with
    numbers at their bounds, as those of a stage that has shrunk away, it begins again with these in
    the (geometric) middle of their bounds, the rest as it is or scaled to the budget: all of them,
    then those of shrunken stages alone. It goes on from what comes out better, twice at most;
    `Sizing.beginnings` says what each came to. That there is no better design yet it does not tell.

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
            nothing free, a payload without a budget, an objective that nothing free changes, a
            thrust whose bounds do not lift the vehicle.
        InfeasibleAscent: no vehicle within the bounds was found that flies.
        Interrupted: by the keyboard; `best` is the last vehicle that was certified.
        OutOfTime: likewise, when the time is up.
    """
    design = DesignSpace(vehicle=vehicle, free=tuple(free), laws=tuple(laws), objective=objective)
    check_design(design)
    check_lift(design, mission)
    watch = Watch("size", _LOG, progress, time_limit)
    search = Search(Steps(design, mission, effort, watch))
    with watch.carrying("sized vehicle", search.so_far):
        return search.best()
