"""Which burns and coasts a flight is made of."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket import SolidMotor, Vehicle
from ascentopt.tables import in_a_line
from ascentopt.units import deg
from ascentopt.validation import counting, not_negative, positive

MAX_TURN_RATE = 3 * deg
"""rad/s. How fast the thrust turns at most on a plan's ``turning_arcs``: as fast as launchers do
(common practice, no source), and slow enough for the mesh to follow. Beside a jump from one bound
to the other it may be a third more for fractions of a second."""


@checked
@dataclass(frozen=True, kw_only=True)
class FlightPlan:
    """The burns and coasts of a flight; their lengths are left to whoever flies it.

    Args:
        inserting_stage: index of the stage that reaches the orbit; those above it are payload.
        coast_before: stages that coast for a free time before they are lit.
        restarts: how often the inserting stage is shut down, coasts and is lit again.
        relit: stages below it that are shut down, coast and are lit again; one entry for each time.
        cut_early: stages below it whose last burn may end before their propellant does; what is
            left is dropped with them.
        throttling: stages whose engines may throttle though no limit asks for it.
        southward: whether it heads for its inclination by the south of east or west, not the north.
        fairing_arc: name of the arc during which the fairing is dropped; None keeps it.
        longest_coast: s, for every free coast; None for a revolution of the widest orbit concerned.
        unlit: how many stages above the inserting one are known to stay unlit; the text of the plan
            says then which stage inserts.
        turning_arcs: names of arcs on which the direction of thrust turns by no more than
            `MAX_TURN_RATE`, though the mission sets no limit: the best one would jump there.
        ballast: kg beside the payload, with which motors that all burn to their ends end in the
            orbit; None where that is still to be found. Only where no engine can be cut off.
    """

    inserting_stage: int
    coast_before: tuple[int, ...] = ()
    restarts: int = 0
    relit: tuple[int, ...] = ()
    cut_early: tuple[int, ...] = ()
    throttling: tuple[int, ...] = ()
    southward: bool = False
    fairing_arc: str | None = None
    longest_coast: float | None = None
    unlit: int = 0
    turning_arcs: tuple[str, ...] = ()
    ballast: float | None = 0.0

    __repr__ = in_a_line

    def __str__(self) -> str:
        names = {0: "direct insertion", 1: "burn, coast, burn"}
        text = names.get(self.restarts, f"{self.restarts + 1} burns with coasts")
        if self.unlit:
            text += f" by stage {self.inserting_stage + 1}"
        for stages, what in (
            (self.coast_before, "coast before {}"),
            (self.relit, "{} lit again"),
            (self.cut_early, "{} cut off early"),
            (self.throttling, "{} throttled"),
        ):
            text += f", {what.format(_which(stages))}" if stages else ""
        text += ", heading south" if self.southward else ""
        if self.turning_arcs:
            text += f", at most {MAX_TURN_RATE / deg:g} deg/s"
        if self.ballast is None:
            text += ", with ballast"
        elif self.ballast:
            text += f", with {self.ballast:.2f} kg of ballast"
        return text

    def beside(self, others: Iterable[FlightPlan]) -> str:
        """Its text; and where the fairing goes, if another of the same text drops it elsewhere."""
        text = str(self)
        if all(one.fairing_arc == self.fairing_arc for one in others if str(one) == text):
            return text
        gone = "kept" if self.fairing_arc is None else f"dropped in {self.fairing_arc!r}"
        return f"{text}, fairing {gone}"

    def check(self, vehicle: Vehicle) -> None:
        """Refuse a plan that the vehicle cannot follow."""
        last = len(vehicle.stages) - 1
        if not 0 <= self.inserting_stage <= last:
            raise InputError(
                f"FlightPlan: inserting_stage is {self.inserting_stage}; vehicle {vehicle.name!r} "
                f"has stages 0 to {last}. Name one of them."
            )
        if self.unlit and self.inserting_stage + self.unlit != last:
            raise InputError(
                f"FlightPlan: unlit is {self.unlit}; vehicle {vehicle.name!r} has "
                f"{last - self.inserting_stage} stages above the inserting one. Give that, or 0."
            )
        self._check_numbers(last)
        stage = vehicle.stages[self.inserting_stage]
        if self.restarts > stage.restarts:
            raise InputError(
                f"FlightPlan: restarts is {self.restarts}; stage {stage.name!r} can be lit again "
                f"{stage.restarts} times. Plan fewer burns, or give the stage more restarts."
            )
        self._check_lower_stages(vehicle)
        cut_off = self.cut_off_stage(vehicle)
        if self.ballast != 0.0 and cut_off is not None:
            raise InputError(
                f"FlightPlan: ballast is {self.ballast}; stage {vehicle.stages[cut_off].name!r} "
                "can be cut off when enough is burned, so none is needed. Leave it at 0."
            )
        if self.ballast is not None:
            not_negative("FlightPlan", "ballast", self.ballast, "kg", "Give it in kg, or None.")

    def _check_numbers(self, last: int) -> None:
        """Refuse indices of no stage, and counts and times that are none."""
        for name in ("coast_before", "throttling"):
            for index in getattr(self, name):
                if not 0 <= index <= last:
                    raise InputError(
                        f"FlightPlan: {name} has {index}; it must name stages of the vehicle, 0 to "
                        f"{last}. Leave it out, or give the index of a stage."
                    )
        for name in ("restarts", "unlit"):
            counting("FlightPlan", name, getattr(self, name), 0, "Give how many there are.")
        if self.longest_coast is not None:
            fix = "Give seconds, or None for a revolution."
            positive("FlightPlan", "longest_coast", self.longest_coast, "s", fix)

    def _check_lower_stages(self, vehicle: Vehicle) -> None:
        """Refuse relights and early ends that the stages below the inserting one cannot give."""
        for index in {*self.relit, *self.cut_early}:
            if not 0 <= index < self.inserting_stage:
                raise InputError(
                    f"FlightPlan: stage index {index} is lit again or cut off early; the stages "
                    f"below the inserting one are 0 to {self.inserting_stage - 1}. Name these, or "
                    "give `restarts` for the inserting stage."
                )
            stage = vehicle.stages[index]
            if self.relit.count(index) > stage.restarts:
                raise InputError(
                    f"FlightPlan: stage {stage.name!r} is lit again {self.relit.count(index)} "
                    f"times; it can be {stage.restarts} times. Plan fewer burns, or give the stage "
                    "more restarts."
                )
            if isinstance(stage.engine, SolidMotor):
                raise InputError(
                    f"FlightPlan: stage {stage.name!r} is cut off early; a solid motor burns to "
                    "its end. Name stages with engines."
                )

    @property
    def structure(self) -> FlightPlan:
        """The plan, leaving aside where the fairing goes and the direction takes its time."""
        return replace(self, fairing_arc=None, turning_arcs=())

    def coasting_before(self, stage: int) -> FlightPlan:
        """The plan with a free coast before a stage is lit."""
        return replace(self, coast_before=_with(self.coast_before, stage))

    def cutting_early(self, *stages: int) -> FlightPlan:
        """The plan with stages whose last burn may end before their propellant does."""
        return replace(self, cut_early=_with(self.cut_early, *stages))

    def relights(self, stage: int) -> int:
        """How often a stage is shut down, coasts and is lit again."""
        return self.restarts if stage == self.inserting_stage else self.relit.count(stage)

    def cut_off_stage(self, vehicle: Vehicle) -> int | None:
        """The stage that is shut down when enough is burned; None where none can be.

        The inserting one; under solid motors, which burn to their ends, the next below that can.
        """
        engines = [stage.engine for stage in vehicle.stages[: self.inserting_stage + 1]]
        stages = [k for k, engine in enumerate(engines) if not isinstance(engine, SolidMotor)]
        return stages[-1] if stages else None


def _which(stages: tuple[int, ...]) -> str:
    *others, last = (str(index + 1) for index in sorted(set(stages)))
    return f"stages {', '.join(others)} and {last}" if others else f"stage {last}"


def direct(vehicle: Vehicle, stage: int | None = None) -> FlightPlan:
    """One burn of each stage, the last one into the orbit, or an earlier ``stage``."""
    last = len(vehicle.stages) - 1
    inserting = last if stage is None else stage
    plan = FlightPlan(inserting_stage=inserting, unlit=last - inserting)
    return plan if plan.cut_off_stage(vehicle) is not None else replace(plan, ballast=None)


def _with(stages: tuple[int, ...], *more: int) -> tuple[int, ...]:
    return tuple(sorted({*stages, *more}))
