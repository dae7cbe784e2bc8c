"""The answer: an ascent with everything that makes it useful and trustworthy."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, ClassVar

from ascentopt import persistence
from ascentopt.arguments import checked_kinds, told
from ascentopt.errors import InputError
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.builder import sequence_of
from ascentopt.flight.phases.reserve import reserve_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.flight.simulation.fly_again import CLOSED, INSTANT, Kept, SecondFlight, second_flight
from ascentopt.mission import Mission
from ascentopt.mission.lift_off import hangs_on_its_instant, lift_off_text, waits_for_its_orbit
from ascentopt.optimal.result.bear_out import UNCHECKED, limit_check, unexplained_misses
from ascentopt.optimal.result.candidate import Candidate, lines_of, table_of
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.optimal.result.partials import Partials
from ascentopt.optimal.solved_program import SolvedProgram
from ascentopt.persistence import SavedResult
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering
from ascentopt.steering.table.context import SteeringContext
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.validation import finite, not_negative, positive

MEASURED = 1e-6
"""kg by which rounding may change what is left of a difference of propellants."""

CAUTION = (
    "Preliminary analysis only: a real launch is for licensed practice and range safety to decide."
)


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Ascent(SavedResult, Tabular):
    """The least-propellant ascent of a vehicle to the orbit of a mission.

    Trajectory, events and budget are those of the independent flight of the steering, not of the
    optimiser's polynomials. All numbers SI.

    Args:
        vehicle, mission: what flew where; the mission with the instant of lift-off that was found
            where it was left free and the ascending node given.
        plan: the burns and coasts that won.
        steering: the law to fly, as a table.
        trajectory, events, budget: of the flight.
        certificate: why to trust it.
        candidates: every structure that was solved for, the best first.
        partials: what one unit more of each limit, mass or element costs in propellant.
        final_mass: kg in the orbit, before anything more is dropped.
        propellant_used: kg burned, and dropped with spent stages.
        propellant_margin: kg left in the stage that reached the orbit, beyond the reserve, and in
            stages above it that were never lit. Under a solid motor, which burns to its end:
            left in the stage below when that is cut off, and dropped with it.
        flight_time: s from lift-off to insertion.
        solved_program: the optimiser's solution, from which a neighbour is solved; None where an
            older version saved the ascent.
    """

    vehicle: Vehicle
    mission: Mission
    plan: FlightPlan
    steering: TabulatedSteering
    trajectory: Trajectory
    events: EventTable
    budget: DeltaVBudget
    certificate: Certificate
    candidates: tuple[Candidate, ...]
    partials: Partials
    final_mass: float
    propellant_used: float
    propellant_margin: float
    flight_time: float
    solved_program: SolvedProgram | None = None

    _form: ClassVar = "ascent"
    _version: ClassVar = 5
    _unsigned: ClassVar = 3

    def __post_init__(self) -> None:
        super().__post_init__()
        owner, fix = f"Ascent of {self.vehicle.name!r}", "Give what the flight has."
        positive(owner, "final_mass", self.final_mass, "kg", fix)
        not_negative(owner, "propellant_used", self.propellant_used, "kg", fix)
        finite(owner, "propellant_margin", self.propellant_margin, "kg", fix)
        not_negative(owner, "flight_time", self.flight_time, "s", fix)
        begun = float(self.trajectory.arcs[0].times[0])
        not_negative(owner, "trajectory's first time", begun, "s", "Begin at the lift-off.")
        self._check_arcs(owner)
        self._explain_steering()

    def _check_arcs(self, owner: str) -> None:
        """Refuse a plan that the vehicle cannot follow, and a table or flight of another one."""
        plan, names = self.plan, [segment.arc for segment in self.steering.segments]
        plan.check(self.vehicle)
        flown = [arc.name for arc in self.trajectory.arcs]
        pieces = plan.restarts + len(plan.relit) + len(plan.coast_before)
        # A plan of more pieces than there are arcs is not even laid out: it may have millions.
        laid = (
            list(sequence_of(self.vehicle, self.mission, plan).names)
            if pieces <= len(names)
            else [f"{pieces} burns and coasts"]
        )
        fix = "Give the plan, the table and the flight of one vehicle and mission."
        for what, arcs, holds in (
            ("the plan's arcs are", laid, laid == names and self.steering.plan == plan),
            ("the trajectory's arcs are", flown, flown == names[: len(flown)]),
        ):
            if not holds:
                raise InputError(
                    f"{owner}: {what} {told(arcs)}, those of its steering {told(names)} by the "
                    f"plan {self.steering.plan}; they must be the same. {fix}"
                )

    def _explain_steering(self) -> None:
        """Tell the steering table what it was made for: of this ascent, whatever it said before."""
        told = SteeringContext.of(self.vehicle, self.mission, self.plan, self.trajectory)
        if self.steering.context != told:
            object.__setattr__(self, "steering", replace(self.steering, context=told))

    def to_table(self) -> Table:
        """One row with the ascent's main numbers, to be put beside those of others."""
        columns = (
            ("vehicle", ""), ("body", ""), ("orbit", ""), ("plan", ""), ("verdict", ""),
            ("payload", "kg"), ("propellant_used", "kg"), ("propellant_margin", "kg"),
            ("reserve", "kg"), ("ballast", "kg"), ("final_mass", "kg"), ("flight_time", "s"),
            ("lift_off_time", "s"),
        )  # fmt: skip
        names = self.vehicle.name, self.mission.body.name, str(self.mission.orbit), str(self.plan)
        masses = self.propellant_used, self.propellant_margin, self.reserve, self.ballast
        rest = self.final_mass, self.flight_time, self.mission.lift_off_time
        verdict = self.certificate.verdict.name.lower()
        row = (*names, verdict, self.vehicle.payload_mass, *masses, *rest)
        return Table.of("ascent", columns, [row])

    @property
    def candidate_table(self) -> Table:
        """A row for each structure that was solved for, as in `Candidate`."""
        return table_of(self.candidates)

    def _repr_html_(self) -> str:
        first, *lines = self._head_lines
        own = (self.events, self.budget, self.certificate)
        tables = [*(one.to_table() for one in own), self.candidate_table]
        return page(first, [*lines, CAUTION], tables)

    def __repr__(self) -> str:
        orbit = f"{self.mission.orbit} of {self.mission.body.name}"
        used = f"{self.propellant_used:.2f} kg used"
        verdict = self.certificate.verdict.name.lower()
        return one_line(self, self.vehicle.name, orbit, used, verdict)

    @property
    def _head_lines(self) -> list[str]:
        return [
            f"{self.vehicle.name}: {self.mission.orbit} of {self.mission.body.name}, {self.plan}",
            f"  insertion after {self.flight_time:.2f} s with {self.final_mass:.2f} kg",
            f"  propellant used {self.propellant_used:.2f} kg",
            f"  propellant left {self.propellant_margin:.2f} kg",
            *self._reserve_lines(),
            *self._ballast_lines(),
            *self._lift_off_lines(),
        ]

    def __str__(self) -> str:
        lines = [
            *self._head_lines,
            "",
            str(self.events),
            "",
            str(self.budget),
            "",
            str(self.certificate),
            "",
            "candidates",
            *(f"  {line}" for line in lines_of(self.candidates)),
            "",
            CAUTION,
        ]
        return "\n".join(lines)

    @property
    def flown_vehicle(self) -> Vehicle:
        """The vehicle, stages that stay unlit taken for payload, and ballast for as much of it.

        It is what any flight so has to use.
        """
        bare = self.vehicle.with_payload_above(self.plan.inserting_stage)
        return bare.with_ballast(self.ballast)

    @property
    def ballast(self) -> float:
        """Mass in kg carried beside the payload where no engine can be cut off in the orbit.

        With less the motors have more than the orbit takes; so much more could be payload.
        """
        return self.plan.ballast or 0.0

    @property
    def reserve(self) -> float:
        """Propellant in kg that the mission keeps in the stage that reached the orbit."""
        return reserve_of(self.vehicle, self.mission, self.plan)

    def _reserve_lines(self) -> list[str]:
        kept = self.mission.reserve
        return [] if kept is None else [f"  beyond a reserve of {self.reserve:.2f} kg: {kept}"]

    def _ballast_lines(self) -> list[str]:
        if not self.ballast:
            return []
        why = "no engine can be cut off, and with less the motors have more than the orbit takes"
        return [f"  ballast {self.ballast:.2f} kg beside the payload: {why}"]

    def _lift_off_lines(self) -> list[str]:
        text = lift_off_text(self.mission)
        return [f"  {text}"] if text else []

    def check_belongs(self, owner: str, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse a vehicle or mission that it is not the ascent of; the instant may have been free.

        Raises `InputError` that names the first number in which they differ.
        """
        flown = self.mission
        if mission.lift_off_time is None:
            flown = replace(flown, lift_off_time=None)
        elif not hangs_on_its_instant(mission):
            flown = replace(flown, lift_off_time=mission.lift_off_time)
        for what, own, given in (
            ("vehicle", self.vehicle, vehicle),
            ("mission", flown, mission),
        ):
            for place, there, here in persistence.differences(own, given):
                raise InputError(
                    f"{owner}: ascent is of another {what}: {place or what} is {told(there)} there "
                    f"and {told(here)} here; they must be the same. Give the ascent's own "
                    f"(ascent.{what}), or leave the ascent out and have it solved."
                )

    def check_measures(self, owner: str, what: str, used: float, penalty: float) -> None:
        """Refuse a flight whose penalty counts from another ascent's propellant.

        Args:
            owner, what: who refuses it, and what it is, in words.
            used: kg that it burns.
            penalty: kg beyond the ascent that it was measured by.
        """
        measured_by = used - penalty
        if abs(measured_by - self.propellant_used) > MEASURED:
            raise InputError(
                f"{owner}: {what} was measured by an ascent that uses {measured_by:.3f} kg of "
                f"propellant; this one uses {self.propellant_used:.3f} kg, and it must be the "
                "same. Give the ascent that it was made of."
            )

    def verify(self) -> Verification:
        """Fly its steering again, and hold what it says of itself against that flight.

        Trajectory, events, budget, masses, what limits and orbit are missed by: all that follows
        from the flight is found again, within what two processors may differ by. What the
        optimiser's solution would be needed for is named as not checked. A flight takes some tenths
        of a second.
        """
        again = second_flight(self.vehicle, self.mission, self.steering)
        kept = Kept(trajectory=self.trajectory, events=self.events, budget=self.budget)
        checks = [*again.checks(kept), *self._number_checks(again)]
        objections = [f"its steering does not fly: {again.why}"] if again.flight is None else []
        if again.flight is not None:
            own = self.mission, again.flight, self.certificate
            checks.append(limit_check(self.vehicle, *own))
            objections += unexplained_misses(*own)
        return Verification(
            subject=f"Ascent of {self.vehicle.name!r}",
            checks=tuple(checks),
            objections=tuple(objections),
            unchecked=UNCHECKED,
        )

    def _number_checks(self, again: SecondFlight) -> Iterator[Check]:
        flight, most = again.flight, again.mass_tolerance
        if flight is None:
            return
        mass, time = float(flight.final_state[MASS]), flight.final_time
        for name, kept, found, tolerance, unit in (
            ("final mass", self.final_mass, mass, CLOSED * most, "kg"),
            ("propellant used", self.propellant_used, again.propellant_used, CLOSED * most, "kg"),
            ("propellant left", self.propellant_margin, again.propellant_margin, CLOSED * most,
             "kg"),
            ("flight time", self.flight_time, time, INSTANT, "s"),
        ):  # fmt: skip
            yield Check(quantity=name, kept=kept, found=found, tolerance=tolerance, unit=unit)

    @classmethod
    def _amended(cls, data: dict[str, Any]) -> dict[str, Any]:
        """Version 1 had no partials, 2 called them prices; then all lifted off at zero."""
        found = persistence.by_present_names(cls, data)
        if data["version"] == 1:
            none = Partials.unknown("saved before partials were kept")
            found["partials"] = persistence.encode(none)
        if data["version"] <= cls._unsigned:
            mission = persistence.decode(found.get("mission"))
            if isinstance(mission, Mission) and waits_for_its_orbit(mission):
                found["mission"] = persistence.encode(replace(mission, lift_off_time=0.0))
        return found
