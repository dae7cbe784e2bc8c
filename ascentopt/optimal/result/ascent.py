"""The answer: an ascent with everything that makes it useful and trustworthy."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

from ascentopt import persistence
from ascentopt.arguments import checked_kinds
from ascentopt.errors import InputError
from ascentopt.flight.phases.reserve import reserve_of
from ascentopt.flight.plan import FlightPlan
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.events import EventTable
from ascentopt.flight.results.trajectory import Trajectory
from ascentopt.mission import Mission
from ascentopt.mission.lift_off import lift_off_text, waits_for_its_orbit
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.optimal.result.partials import Partials
from ascentopt.optimal.speeds import in_words
from ascentopt.rocket import Vehicle
from ascentopt.steering import TabulatedSteering
from ascentopt.steering.table.context import SteeringContext
from ascentopt.tables import Table, Tabular, one_line, page

_FORM, _VERSION = "ascent", 3
"""Of the JSON file. Version 1 had no partials and is read without them; 2 called them prices."""

CAUTION = (
    "Preliminary analysis only: a real launch is for licensed practice and range safety to decide."
)


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A structure that was solved for, and how it came out.

    Args:
        plan: its burns and coasts.
        standing: best, beaten, short or unsolved.
        propellant_used: kg; None when it does not reach the orbit.
        at_least: whether that is a bound, found without the limits on loads, by which it is
            beaten already.
        shortfall: m/s missing at insertion; None when it is not known, 0 when it arrives.
        history: one line for each program that was solved for it.
    """

    plan: FlightPlan
    standing: Standing
    propellant_used: float | None
    at_least: bool
    shortfall: float | None
    history: tuple[str, ...]

    @property
    def result(self) -> str:
        """Propellant or shortfall in words."""
        if self.propellant_used is not None:
            least = "at least " if self.at_least else ""
            return f"{least}{self.propellant_used:.2f} kg of propellant"
        if self.shortfall is not None:
            return f"short by {in_words(self.shortfall)}"
        return "not solved for" if self.standing is Standing.SKIPPED else "shortfall unknown"

    def __repr__(self) -> str:
        return one_line(self, self.plan, self.standing.name.lower(), self.result)

    def __str__(self) -> str:
        return self.beside(())

    def beside(self, others: Iterable[Candidate]) -> str:
        """Its line, the plan told from those of the others."""
        plan = self.plan.beside(one.plan for one in others)
        return f"{plan:40} {self.standing.name.lower():9} {self.result}"


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class Ascent(Tabular):
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

    def __post_init__(self) -> None:
        self._explain_steering()

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
        columns = (
            ("plan", ""), ("standing", ""), ("propellant_used", "kg"), ("at_least", ""),
            ("shortfall", "m/s"), ("programs_solved", ""),
        )  # fmt: skip
        plans = [one.plan for one in self.candidates]
        rows = (
            (
                one.plan.beside(plans), one.standing.name.lower(), one.propellant_used,
                one.at_least, one.shortfall, len(one.history),
            )
            for one in self.candidates
        )  # fmt: skip
        return Table.of("candidates", columns, rows)

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
            *(f"  {candidate.beside(self.candidates)}" for candidate in self.candidates),
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

    def save(self, path: str | Path) -> None:
        """Write JSON that `load` reads without solving or flying anything."""
        persistence.save(path, _FORM, _VERSION, self)

    @classmethod
    def load(cls, path: str | Path) -> Ascent:
        """Read what `save` wrote. Raises `InputError` for any other file."""
        data = persistence.saved(path, "Ascent", _FORM, (1, 2, _VERSION))
        data = persistence.by_present_names(cls, data)
        if data["version"] == 1:
            none = Partials.unknown("saved before partials were kept")
            data["partials"] = persistence.encode(none)
        missing = [name for name in cls.__dataclass_fields__ if name not in data]
        if missing:
            raise InputError(
                f"Ascent.load: {str(path)!r} lacks {', '.join(missing)}; the file is damaged. Save "
                "the ascent again."
            )
        fields: dict[str, Any] = {
            name: persistence.decode(data[name]) for name in cls.__dataclass_fields__
        }
        if waits_for_its_orbit(fields["mission"]):  # saved when all lifted off at zero
            fields["mission"] = replace(fields["mission"], lift_off_time=0.0)
        return cls(**fields)
