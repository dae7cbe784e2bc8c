"""The search for the heaviest payload that a vehicle brings to the orbit."""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from logging import getLogger
from math import exp, inf

from ascentopt.arguments import checked
from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.mission import Mission
from ascentopt.optimal.attempt import Attempt
from ascentopt.optimal.optimize import Effort, Optimum, optimum
from ascentopt.progress import Progress, Watch
from ascentopt.rocket import Vehicle
from ascentopt.studies.payload.greatest import MaxPayload
from ascentopt.studies.payload.trials import Trial, bracket, nearest, next_payload
from ascentopt.units import STANDARD_GRAVITY
from ascentopt.validation import within

_LOG = getLogger("ascentopt.studies")

CLOSE = 1e-4
"""Of payload and dry last stage together: what may be left above the reserve."""

MOST_SOLVES = 25
"""Four or five do where the propellant decides; halving what is between needs about ten."""


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


def _searched(question: _Question, trials: list[Trial]) -> list[Trial]:
    """Try payloads until the heaviest is known, each from the nearest that was flown.

    One to which that leads nowhere is solved for from nothing: the refusal may be the start's.
    """
    payload = next_payload(trials)
    while payload is not None and len(trials) < MOST_SOLVES:
        trials = [*trials, question.answered(payload, nearest(trials, payload))]
        if trials[-1].too_far:
            trials = [*trials, question.answered(payload)]
        payload = next_payload(trials)
    return trials


@dataclass(frozen=True)
class _Question:
    vehicle: Vehicle
    mission: Mission
    effort: Effort
    reserve: float
    watch: Watch[MaxPayload]
    trials: list[Trial] = field(default_factory=list)

    def so_far(self) -> MaxPayload | None:
        """The heaviest that flies, of those tried; None where none does."""
        low, _ = bracket([one for one in self.trials if one.flies])
        if low is None:
            return None
        found = _result([low], len(self.trials), self.reserve)
        return replace(found, held_by="nothing that is known: the search was stopped")

    def answered(self, payload: float, near: Trial | None = None) -> Trial:
        """Solve for this payload, and tell; see `_answered`."""
        self.watch.begins(f"{payload:.2f} kg of payload")
        trial = self._answered(payload, near)
        self.trials.append(trial)
        left = f"{trial.surplus:+.2f} kg of propellant beside the reserve"
        came = left if trial.optimum is not None else "refused"
        self.watch.finishes(f"{payload:.2f} kg of payload: {came}")
        return trial

    def _answered(self, payload: float, near: Trial | None) -> Trial:
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

    def _start(self, near: Trial | None) -> Attempt | None:
        """What to go on from: not a flight that leaves stages unlit, which a heavier one lights."""
        attempt = near.optimum.attempt if near is not None and near.optimum is not None else None
        return None if attempt is None or attempt.plan.unlit else attempt

    def _trial(
        self, payload: float, surplus: float, slope: float, verdict: str,
        found: Optimum | None, near: Trial | None,
    ) -> Trial:  # fmt: skip
        return Trial(
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


def _best(trials: list[Trial]) -> Trial:
    """The heaviest that flies."""
    low, _ = bracket(trials)
    if low is None:
        raise InfeasibleAscent(f"No payload was found that flies. {trials[-1].verdict}")
    return low


def _result(trials: list[Trial], solves: int, reserve: float) -> MaxPayload:
    low, (_, high) = _best(trials), bracket(trials)
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
