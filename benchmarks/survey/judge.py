"""One case through the optimiser, and its answer past a second way."""

from __future__ import annotations

import traceback
from collections.abc import Callable
from dataclasses import dataclass, replace
from time import process_time
from typing import Any, Protocol

from ascentopt.errors import InfeasibleAscent, InputError
from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from benchmarks.survey.generator import case
from benchmarks.survey.outcome import Answer, Check, NotSearchedError, Outcome, Row, Sighting

Optimiser = Callable[[Vehicle, Mission], Answer]
"""Raises `InfeasibleAscent` or `InputError`, as the library's own does."""

Searcher = Callable[[Vehicle, Mission], Sighting]
"""The best flight found some other way. Raises `NotSearchedError` for what it does not cover."""


class Drawn(Protocol):
    """One case of a family."""

    @property
    def seed(self) -> int:
        """It is the same case for ever."""
        ...

    @property
    def label(self) -> str:
        """What it is, in a line."""
        ...

    @property
    def features(self) -> tuple[str, ...]:
        """What kind of case it is."""
        ...

    @property
    def vehicle(self) -> Vehicle:
        """What is to fly."""
        ...

    @property
    def bound(self) -> float:
        """Ideal delta-v in m/s that no flight can do without."""
        ...

    @property
    def mission(self) -> Mission:
        """What is to be reached. Raises `InputError` where the library does not take it."""
        ...


Family = Callable[[int], Drawn]
"""From a seed to its case: a function of a module, so that it can be sent to another process."""

# A speed reckoned from masses that went through an optimiser's tolerances may be this far off.
_SPEED_TOLERANCE = 1.0  # m/s


@dataclass(frozen=True)
class Judge:
    """Runs a case. A picklable callable, so that it can be sent to another process.

    `optimise` is what is surveyed; `search` looks for a flight where it says there is none;
    `family` makes the cases.
    """

    optimise: Optimiser
    search: Searcher | None = None
    family: Family = case

    def __call__(self, seed: int) -> Row:
        """The row of the case of this seed; whatever goes wrong inside becomes part of it."""
        drawn = self.family(seed)
        row = self.answer(drawn)
        try:
            return self._checked(drawn, row)
        except (NotSearchedError, InputError) as reason:
            return replace(row, check_detail=f"not searched: {reason}")
        except Exception as fault:  # noqa: BLE001 - a survey must outlive its own checks
            return replace(row, check=Check.NONE, check_detail=f"check failed: {fault!r}")

    def answer(self, drawn: Drawn) -> Row:
        """What the optimiser says, unchecked."""
        start = process_time()
        try:
            answer = self.optimise(drawn.vehicle, drawn.mission)
        except InfeasibleAscent as refusal:
            known = refusal.shortfall is not None or refusal.least_violation is not None
            found: dict[str, Any] = {
                "outcome": Outcome.REFUSED if known else Outcome.BARE,
                "shortfall": None if refusal.shortfall is None else float(refusal.shortfall),
                "message": str(refusal),
                "candidates": tried(refusal.best),
            }
        except InputError as error:
            found = {"outcome": Outcome.REJECTED, "message": str(error)}
        except Exception:  # noqa: BLE001 - one crash is a row, not the end
            found = {"outcome": Outcome.CRASHED, "message": traceback.format_exc(limit=-4)}
        else:
            found = _solved(answer, drawn.bound)
        return _row(drawn, process_time() - start, **found)

    def _checked(self, drawn: Drawn, row: Row) -> Row:
        if row.outcome in (Outcome.CERTIFIED, Outcome.UNCERTIFIED):
            return row
        if row.ideal_delta_v < row.bound:
            missing = row.bound - row.ideal_delta_v
            detail = f"ideal delta-v is {missing:.0f} m/s below the impulsive bound"
            return replace(row, check=Check.PROVED, check_detail=detail)
        if self.search is None:
            return row
        flight = self.search(drawn.vehicle, drawn.mission)
        return replace(
            row,
            check=Check.REFUTED if flight.arrives else Check.SEARCHED,
            check_detail=flight.description,
            missing_elsewhere=max(-flight.spare, 0.0),
        )


def crash_row(seed: int, message: str, family: Family = case) -> Row:
    """The row of a case that took its whole process down."""
    return _row(family(seed), 0.0, outcome=Outcome.CRASHED, message=message)


def tried(candidates: object) -> tuple[str, ...]:
    """A text for each structure that was tried: its result, then the history of its programs."""
    if not isinstance(candidates, tuple):
        return ()
    return tuple(
        "\n    ".join((str(candidate), *getattr(candidate, "history", ())))
        for candidate in candidates
    )


def _solved(answer: Answer, bound: float) -> dict[str, Any]:
    used = answer.speed_used
    impossible = used is not None and used < bound - _SPEED_TOLERANCE
    check = Check.NONE if used is None else Check.CONSISTENT
    return {
        "outcome": Outcome.CERTIFIED if answer.certified else Outcome.UNCERTIFIED,
        "verdict": answer.verdict,
        "propellant_used": answer.propellant_used,
        "iterations": answer.iterations,
        "numbers": dict(answer.numbers),
        "candidates": answer.candidates,
        "check": Check.IMPOSSIBLE if impossible else check,
        "check_detail": "" if used is None else f"{used:.0f} m/s spent, bound {bound:.0f} m/s",
    }


def _row(drawn: Drawn, seconds: float, **found: Any) -> Row:
    return Row(
        seed=drawn.seed,
        label=drawn.label,
        seconds=seconds,
        ideal_delta_v=float(drawn.vehicle.ideal_delta_v),
        bound=drawn.bound,
        features=drawn.features,
        **found,
    )
