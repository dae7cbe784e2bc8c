"""What became of one case: a row of the survey's table, and its line in the journal."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import asdict, dataclass, field
from enum import Enum
from typing import Any


class Outcome(Enum):
    """What the optimiser answered; the values are the words of the table."""

    CERTIFIED = "solved with certificate"
    UNCERTIFIED = "solved without certificate"
    REFUSED = "refused with a number"
    BARE = "refused without a number"
    REJECTED = "input error"
    CRASHED = "crashed"


class Check(Enum):
    """What a second way says about the answer."""

    NONE = "not checked"
    PROVED = "refusal proved by the bound"
    SEARCHED = "refusal stood a search for a flight"
    REFUTED = "wrongly refused: a flight was found"
    CONSISTENT = "answer consistent with the bound"
    IMPOSSIBLE = "wrongly accepted: below the bound"


class NotSearchedError(ValueError):
    """The second way does not cover this case; the text says why."""


OVERSTATED = 20.0
"""m/s by which a shortfall must exceed another flight's before it counts as overstated."""

UNEXPLAINED = (Outcome.BARE, Outcome.REJECTED, Outcome.CRASHED)


@dataclass(frozen=True, kw_only=True)
class Answer:
    """What the survey keeps of a solution.

    `speed_used` m/s is the ideal delta-v up to the insertion, None when the solution does not say;
    `verdict` is the certificate's word and `numbers` its figures; `candidates` has a line each.
    """

    certified: bool
    verdict: str
    propellant_used: float
    speed_used: float | None = None
    iterations: int | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)
    candidates: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Sighting:
    """The best flight that a second way found: whether it arrives, and what it has to spare.

    `spare` m/s is negative where speed is missing; it then bounds the true shortfall from above.
    """

    arrives: bool
    spare: float
    description: str


@dataclass(frozen=True, kw_only=True)
class Row:
    """One case of the survey. Speeds in m/s, masses in kg, time in s of one processor.

    `missing_elsewhere` is what the best flight of the second way lacks; `features` say what kind of
    case it is.
    """

    seed: int
    label: str
    outcome: Outcome
    seconds: float
    ideal_delta_v: float
    bound: float
    shortfall: float | None = None
    message: str = ""
    verdict: str = ""
    propellant_used: float | None = None
    iterations: int | None = None
    numbers: Mapping[str, float] = field(default_factory=dict)
    candidates: tuple[str, ...] = ()
    check: Check = Check.NONE
    check_detail: str = ""
    missing_elsewhere: float | None = None
    features: tuple[str, ...] = ()

    @property
    def wrongly_refused(self) -> bool:
        """A flight exists that the optimiser denied."""
        return self.check is Check.REFUTED

    @property
    def wrongly_accepted(self) -> bool:
        """A solution that cannot be was certified."""
        return self.outcome is Outcome.CERTIFIED and self.check is Check.IMPOSSIBLE

    @property
    def overstated(self) -> bool:
        """Refused with a shortfall that a flight flown some other way undercuts clearly."""
        if self.shortfall is None or self.missing_elsewhere is None:
            return False
        return self.missing_elsewhere < self.shortfall - OVERSTATED

    @property
    def unexplained(self) -> bool:
        """Neither an answer nor a number of m/s."""
        return self.outcome in UNEXPLAINED and not self.wrongly_refused

    @property
    def good(self) -> bool:
        """Solved with certificate or refused with a number, and no check speaks against it."""
        fine = self.outcome in (Outcome.CERTIFIED, Outcome.REFUSED)
        return fine and not self.wrongly_refused and not self.wrongly_accepted

    def to_json(self) -> str:
        """One line of the journal."""
        plain = asdict(self) | {"outcome": self.outcome.name, "check": self.check.name}
        return json.dumps(plain)

    @classmethod
    def from_json(cls, line: str) -> Row:
        """The row that `to_json` wrote."""
        plain: dict[str, Any] = json.loads(line)
        plain["outcome"] = Outcome[plain["outcome"]]
        plain["check"] = Check[plain["check"]]
        plain["candidates"] = tuple(plain["candidates"])
        plain["features"] = tuple(plain.get("features", ()))
        return cls(**plain)
