"""What is varied by a function of a user's own."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

from ascentopt.arguments import asked, checked, told
from ascentopt.errors import InputError
from ascentopt.mission import Mission
from ascentopt.optimal.perturbations import Case
from ascentopt.rocket import Vehicle
from ascentopt.tables import in_a_line

Change = Callable[[Vehicle, Mission, Any], tuple[Vehicle, Mission]]


@checked
@dataclass(frozen=True, kw_only=True)
class Varied:
    """Values that change a vehicle and a mission by a function, where no single field does.

    Args:
        values: one for each step along the grid.
        change: from vehicle, mission and one of the values to the vehicle and mission with it. It
            is called where the sweep is begun, never in another process.
        unit: of the values, of the SI; "-" for numbers without one.
    """

    values: Sequence[object]
    change: Change
    unit: str = "-"

    __repr__ = in_a_line

    def put(self, name: str, case: Case, value: object) -> Case:
        """The case with a value. Raises `InputError` for an answer that is no pair of the two."""
        found = asked("sweep", f"{name} change", self.change, case.vehicle, case.mission, value)
        pair = tuple(found) if isinstance(found, tuple | list) else ()
        if len(pair) != 2 or not (isinstance(pair[0], Vehicle) and isinstance(pair[1], Mission)):
            raise InputError(
                f"sweep: {name} change answers {told(found)} to {told(value)}; it must be a pair "
                "of Vehicle and Mission. Return both, also the one that is as it was."
            )
        return Case(pair[0], pair[1])
