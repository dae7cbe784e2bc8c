"""The heaviest payload that a vehicle brings to the orbit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from itertools import takewhile
from logging import getLogger
from math import exp, inf
from typing import ClassVar

from ascentopt.arguments import checked, checked_kinds
from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, Optimum, optimum
from ascentopt.optimal.result.ascent import MEASURED, Ascent
from ascentopt.persistence import SavedResult
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.tables import Table, Tabular, one_line, page
from ascentopt.units import STANDARD_GRAVITY
from ascentopt.validation import within

_LOG = getLogger("ascentopt.studies")

CLOSE = 1e-4
"""Of payload and dry last stage together: what may be left above the reserve."""

NARROW = 2e-3
"""Of the payload: the search ends where the heaviest that flies and the lightest that does not are
this close."""

MOST_SOLVES = 25
"""Four or five do where the propellant decides; halving what is between needs about ten."""


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class MaxPayload(SavedResult, Tabular):
    """The greatest payload, with the ascent that carries it.

    Args:
        payload: kg.
        reserve: kg of propellant that had to be left.
        surplus: kg that are left above it: next to nothing where the propellant decides. Ballast
            counts, where no engine can be cut off.
        held_by: what decides: the propellant, or why the next heavier payload was refused.
        ascent: with this payload, solved and certified like any other.
        solves: how many ascents were solved for, refusals included.
    """

    payload: float
    reserve: float
    surplus: float
    held_by: str
    ascent: Ascent
    solves: int

    _form: ClassVar = "greatest payload"
    _version: ClassVar = 1
    _unsigned: ClassVar = 0

    def verify(self) -> Verification:
        """As `Ascent.verify` of its ascent, which must carry the payload and leave what it says.

        That no more would fly is a search's word: search again.
        """
        one = self.ascent
        left = one.propellant_margin + one.ballast - self.reserve
        checks = tuple(
            Check(quantity=what, kept=kept, found=found, tolerance=MEASURED, unit="kg")
            for what, kept, found in (
                ("payload", self.payload, one.vehicle.payload_mass),
                ("surplus", self.surplus, left),
            )
        )
        unchecked = ("that no more would fly: search again",)
        part = Verification(subject="greatest payload", checks=checks, unchecked=unchecked)
        return one.verify().with_part(part)

    def to_table(self) -> Table:
        """One row: the payload, what holds it, and the main numbers of its ascent."""
        own = (
            ("greatest_payload", "kg"), ("reserve_asked", "kg"), ("surplus", "kg"),
            ("held_by", ""), ("solves", ""),
        )  # fmt: skip
        row = self.payload, self.reserve, self.surplus, self.held_by, self.solves
        beside = self.ascent.to_table()
        columns = [*own, *((one.name, one.unit) for one in beside.columns)]
        return Table.of("greatest payload", columns, [(*row, *beside.rows[0])])

    def _repr_html_(self) -> str:
        first, *lines = str(self).splitlines()
        return page(first, lines) + self.ascent._repr_html_()

    def __repr__(self) -> str:
        vehicle, mission = self.ascent.vehicle, self.ascent.mission
        return one_line(self, vehicle.name, f"{self.payload:.2f} kg", mission.orbit)

    def __str__(self) -> str:
        vehicle, mission = self.ascent.vehicle, self.ascent.mission
        what = "ballast" if self.ascent.ballast else "propellant"
        return (
            f"{vehicle.name}: {self.payload:.2f} kg of payload to the {mission.orbit} of "
            f"{mission.body.name}, with {self.reserve + self.surplus:.2f} kg of {what} left "
            f"({self.reserve:.2f} kg asked for)\n"
            f"  held by {self.held_by}; {self.solves} ascents solved for"
        )


@checked
def max_payload(
    vehicle: Vehicle,
    mission: Mission,
    effort: Effort = Effort(),
    *,
    reserve: float = 0.0,
    progress: Progress[MaxPayload] | None = None,
    time_limit: float | None = None,
) -> MaxPayload:
    """Return the greatest payload that leaves the reserve in the stage that reaches the orbit.

    Newton's method on the propellant left, whose slope is the partial by the payload, kept between
    what is known to fly and what is known not to. It starts at the payload of the description;
    each further payload is solved for from the nearest solution, and the last one once more from
    nothing, lest another structure do better there.

    Args:
        vehicle, mission: as in `optimize`.
        effort: as in `optimize`, for every ascent.
        reserve: kg of propellant to be left at insertion.
        progress: is given a `Step` for each payload that is solved for; its ``so_far`` is the
            heaviest that flies.
        time_limit: seconds of the clock for the whole.

    Raises:
        InputError: a negative reserve, or a vehicle that its engines do not lift without payload.
        InfeasibleAscent: even without payload the orbit is not reached, or the reserve not left.
        Interrupted: by the keyboard; `best` is the heaviest payload so far, if one was flown.
        OutOfTime: likewise, when the time is up.
    """
    fix = "Give the propellant to be left in kg, no more than the vehicle holds."
    within("max_payload", "reserve", reserve, "kg", (0.0, vehicle.propellant_mass), fix)
    watch = Watch("max_payload", _LOG, progress, time_limit)
    question = _Question(vehicle, mission, effort, reserve, watch)
    with watch.carrying("heaviest payload", question.so_far):
        return _most(question)


def _most(question: _Question) -> MaxPayload:
    done = _searched(question, [question.answered(question.vehicle.payload_mass)])
    solves = len(done)
    while _best(done).continued and solves < MOST_SOLVES:
        fresh = question.answered(_best(done).payload)
        solves += 1
        if fresh.surplus <= _best(done).surplus + fresh.close:
            done = [
                *(trial for trial in done if not trial.flies),
                fresh if fresh.flies else _best(done),
            ]
            break
        done = _searched(question, [fresh])  # another structure: refusals of the first say nothing
        solves += len(done) - 1
    return _result(done, solves, question.reserve)


def _searched(question: _Question, trials: list[_Trial]) -> list[_Trial]:
    """Try payloads until the heaviest is known, each from the nearest that was flown.

    One to which that leads nowhere is solved for from nothing: the refusal may be the start's.
    """
    payload = _next(trials)
    while payload is not None and len(trials) < MOST_SOLVES:
        trials = [*trials, question.answered(payload, _nearest(trials, payload))]
        if trials[-1].too_far:
            trials = [*trials, question.answered(payload)]
        payload = _next(trials)
    return trials


@dataclass(frozen=True, kw_only=True, eq=False)
class _Trial:
    """A payload that was tried.

    Attributes:
        payload: kg.
        surplus: kg of propellant above the reserve; an estimate where there is no ascent, -inf
            where there is not even that.
        slope: kg of surplus for each kg of payload; a neighbour's where there is no ascent.
        close: kg of surplus that are next to nothing.
        verdict: why it is refused, empty where it is not.
        optimum: None where the orbit is not reached.
        continued: whether it was flown from a neighbour.
        heavier: kg of a heavier payload that its refusal names: a limit on acceleration may let a
            light vehicle burn too little.
    """

    payload: float
    surplus: float
    slope: float
    close: float
    verdict: str
    optimum: Optimum | None
    continued: bool
    heavier: float | None = None

    @property
    def flies(self) -> bool:
        """Whether the orbit is reached and the reserve is left."""
        return self.surplus >= 0.0

    @property
    def too_far(self) -> bool:
        """Whether it was flown from a neighbour in vain, without a word on what is missing."""
        return self.continued and self.surplus == -inf

    def root(self) -> float:
        """Payload that would leave half of what is next to nothing, by the slope."""
        return max(self.payload - (self.surplus - 0.5 * self.close) / self.slope, 0.0)


@dataclass(frozen=True)
class _Question:
    vehicle: Vehicle
    mission: Mission
    effort: Effort
    reserve: float
    watch: Watch[MaxPayload]
    trials: list[_Trial] = field(default_factory=list)

    def so_far(self) -> MaxPayload | None:
        """The heaviest that flies, of those tried; None where none does."""
        low, _ = _bracket([one for one in self.trials if one.flies])
        if low is None:
            return None
        found = _result([low], len(self.trials), self.reserve)
        return replace(found, held_by="nothing that is known: the search was stopped")

    def answered(self, payload: float, near: _Trial | None = None) -> _Trial:
        """Solve for this payload, and tell; see `_answered`."""
        self.watch.begins(f"{payload:.2f} kg of payload")
        trial = self._answered(payload, near)
        self.trials.append(trial)
        left = f"{trial.surplus:+.2f} kg of propellant beside the reserve"
        came = left if trial.optimum is not None else "refused"
        self.watch.finishes(f"{payload:.2f} kg of payload: {came}")
        return trial

    def _answered(self, payload: float, near: _Trial | None) -> _Trial:
        """Solve for this payload. Without payload nothing is left to try, so refusals go out."""
        loaded = replace(self.vehicle, payload_mass=payload)
        start = self._start(near)
        try:
            inner = self.watch.inside("optimize", getLogger("ascentopt.optimal"))
            found = optimum(loaded, self.mission, self.effort, start, inner)
        except (InfeasibleAscent, InputError) as refusal:
            if payload == 0.0:
                raise
            surplus = -self._missing(payload, refusal)
            slope = near.slope if near is not None else -1.0
            trial = self._trial(payload, surplus, slope, str(refusal), None, near)
            return replace(trial, heavier=_heavier_named(payload, refusal))
        left = found.ascent.propellant_margin + found.ascent.ballast
        slope, verdict = found.ascent.partials["payload"].margin, ""
        if left < self.reserve:
            verdict = (
                f"{self.vehicle.name} with {payload:.2f} kg of payload leaves {left:.2f} kg of "
                f"propellant in the orbit; {self.reserve:.2f} kg are asked for."
            )
        if verdict and payload == 0.0:
            raise InfeasibleAscent(f"{verdict} Ask for less, or add propellant.", best=found.ascent)
        return self._trial(payload, left - self.reserve, slope, verdict, found, near)

    def _start(self, near: _Trial | None) -> Attempt | None:
        """What to go on from: not a flight that leaves stages unlit, which a heavier one lights."""
        attempt = near.optimum.attempt if near is not None and near.optimum is not None else None
        return None if attempt is None or attempt.plan.unlit else attempt

    def _trial(
        self, payload: float, surplus: float, slope: float, verdict: str,
        found: Optimum | None, near: _Trial | None,
    ) -> _Trial:  # fmt: skip
        return _Trial(
            payload=payload,
            surplus=surplus,
            slope=slope,
            close=CLOSE * (payload + self.vehicle.stages[-1].dry_mass),
            verdict=verdict,
            optimum=found,
            continued=self._start(near) is not None,
        )

    def _missing(self, payload: float, refusal: Exception) -> float:
        """Propellant for the missing speed, by the rocket equation on what reaches the orbit."""
        short = getattr(refusal, "shortfall", None)
        violated = getattr(refusal, "least_violation", None)
        limited = violated and not getattr(refusal, "diagnosis", None)
        if short is None or limited:  # too fast for the limits: no propellant mends that
            return inf
        last = self.vehicle.stages[-1]
        ratio = exp(short / (STANDARD_GRAVITY * last.engine.vacuum_isp))
        return (payload + last.dry_mass) * (ratio - 1.0) + self.reserve


def _heavier_named(payload: float, refusal: Exception) -> float | None:
    named = getattr(getattr(refusal, "diagnosis", None), "payload", None)
    return named if named is not None and named > payload else None


def _bracket(trials: list[_Trial]) -> tuple[_Trial | None, _Trial | None]:
    """The heaviest that flies, and the lightest heavier one that does not.

    A refusal without a shortfall only says that it was too far from where it was flown from: it
    counts until a heavier one flies.
    """
    low = max((t for t in trials if t.flies), key=lambda t: t.payload, default=None)
    least = low.payload if low is not None else -inf
    since = trials.index(low) if low is not None else 0
    above = (
        trial
        for k, trial in enumerate(trials)
        if not trial.flies and trial.payload > least and (trial.surplus > -inf or k > since)
    )
    return low, min(above, key=lambda trial: (trial.payload, -trial.surplus), default=None)


def _nearest(trials: list[_Trial], payload: float) -> _Trial | None:
    """The trial with an ascent that is nearest, whether it leaves the reserve or not."""
    flown = (trial for trial in trials if trial.optimum is not None)
    return min(flown, key=lambda trial: abs(trial.payload - payload), default=None)


def _next(trials: list[_Trial]) -> float | None:
    """Payload to try next; None when the answer is known."""
    low, high = _bracket(trials)
    if low is None:
        return trials[-1].heavier or _lighter(trials)
    ceiling = high.payload if high is not None else inf
    narrow = ceiling - low.payload <= NARROW * ceiling
    if low.surplus <= low.close or (high is not None and narrow):
        return None
    last = trials[-1]
    if last.surplus > -inf and low.payload < last.root() < ceiling:
        return last.root()
    return 0.5 * (low.payload + ceiling)


def _lighter(trials: list[_Trial]) -> float:
    """By what is missing; while that is not known, down by 2, 4, 8 ... per cent."""
    unknown = len(list(takewhile(lambda t: t.surplus == -inf, reversed(trials))))
    share = 1.0 - 0.01 * 2.0**unknown
    return max(trials[-1].payload * share if unknown else trials[-1].root(), 0.0)


def _best(trials: list[_Trial]) -> _Trial:
    """The heaviest that flies."""
    low, _ = _bracket(trials)
    if low is None:
        raise InfeasibleAscent(f"No payload was found that flies. {trials[-1].verdict}")
    return low


def _result(trials: list[_Trial], solves: int, reserve: float) -> MaxPayload:
    low, (_, high) = _best(trials), _bracket(trials)
    if low.optimum is None:
        raise LookupError("a payload that flies has an ascent")
    held_by = "the motors" if low.optimum.ascent.ballast else "the propellant"
    if low.surplus > low.close and high is not None:
        held_by = f"a refusal: {high.verdict}"
    return MaxPayload(
        payload=low.payload,
        reserve=reserve,
        surplus=low.surplus,
        held_by=held_by,
        ascent=low.optimum.ascent,
        solves=solves,
    )
