"""A programme through the air that loses least over the days, as the user is given it."""

from __future__ import annotations

from dataclasses import dataclass
from typing import ClassVar

import numpy as np

from ascentopt.arguments import checked_kinds
from ascentopt.flight.results.verification import Check, Verification
from ascentopt.guided.dispersed_flight import DispersedFlight
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.persistence import SavedResult
from ascentopt.studies.dispersions.scatter.correlation import Correlation
from ascentopt.studies.dispersions.scatter.dispersion import Dispersion
from ascentopt.studies.dispersions.scatter.draws import Draw
from ascentopt.studies.robust.criteria import Criterion, Mean
from ascentopt.studies.robust.shift import PitchShift
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.typing import Floats
from ascentopt.units import deg, signed
from ascentopt.validation import require

_EVERY = 2.0  # s between rows of the table
_AGAIN = 4  # flights that `verify` flies again by each programme
_SAME = 1e-6  # kg of propellant: what another processor's rounding may make of a flight


@checked_kinds
@dataclass(frozen=True, kw_only=True, eq=False)
class RobustProgramme(SavedResult, Tabular):
    """The optimum's pitch through the air, shifted for the days.

    What it gains is what it gains on fresh draws, none of which it was tuned on.

    Args:
        ascent: whose programme it began with.
        dispersions, correlations, seed: of the days.
        against: what of the flights was made least.
        times, shifts: s since lift-off, and rad that are added to the pitch there; linear between
            them, nothing before the first, as at the last until guidance takes over.
        tuned: draws that it was tuned on, the first of the seed; those after them are fresh.
        before, after: (n,) kg that the fresh flights leave by the optimum's programme and by this
            one; negative for what is missing, nan for a fall.
        nominal_before, nominal_after: kg that the flight leaves in which nothing is off.
        held: names of the loads that would pass their limits, or what they were already, by a
            programme that leaves more.
    """

    ascent: Ascent
    dispersions: tuple[Dispersion, ...]
    correlations: tuple[Correlation, ...]
    seed: int
    against: Criterion
    times: tuple[float, ...]
    shifts: tuple[float, ...]
    tuned: int
    before: Floats
    after: Floats
    nominal_before: float
    nominal_after: float
    held: tuple[str, ...] = ()

    _form: ClassVar = "robust programme"
    _version: ClassVar = 1
    _unsigned: ClassVar = 0

    def __post_init__(self) -> None:
        super().__post_init__()
        for name in ("before", "after"):
            value = getattr(self, name)
            try:
                found = np.asarray(value, dtype=np.float64)
            except (TypeError, ValueError):
                found = np.zeros((0, 0))
            require(
                "RobustProgramme", name, value, "kg", "a list of numbers, one to each fresh flight",
                "Give what the flights leave.", holds=found.ndim == 1,
            )  # fmt: skip
            object.__setattr__(self, name, found)
        sides = len(self.before), len(self.after)
        require(
            "RobustProgramme", "length of before and after", sides, "", "the same",
            "Give the same flights by both programmes.", holds=sides[0] == sides[1],
        )  # fmt: skip

    @property
    def gain(self) -> float:
        """Kilograms of the criterion that it leaves more on fresh days; below zero it loses.

        Nan where it was stopped before it was judged.
        """
        if not len(self.after):
            return float("nan")
        last = self.ascent.vehicle.stages[-1].propellant_mass
        sides = (np.nan_to_num(one, nan=-last) for one in (self.before, self.after))
        before, after = (self.against.of(-one) for one in sides)
        return before - after

    @property
    def error(self) -> float:
        """Standard error of the gain in kg, by the differences of flights of the same draw.

        Of a quantile it is that of the mean's gain, and less than the quantile's own.
        """
        gains = self.after - self.before
        known = gains[~np.isnan(gains)]
        return float(known.std() / np.sqrt(max(len(known), 1)))

    def verify(self) -> Verification:
        """Fly some of the fresh draws again, by both programmes."""
        flight = DispersedFlight.of(self.ascent)
        other = PitchShift(self.times, self.shifts).flown_by(flight, self.ascent.steering)
        draw = Draw.of(self.ascent, self.dispersions, self.correlations, self.seed)
        checks = []
        last = len(self.before) - 1
        again = np.unique(np.linspace(0, last, _AGAIN).astype(int)) if last >= 0 else ()
        for k in map(int, again):
            own = draw(self.tuned + k, self.tuned + k + 1).deviations
            for what, flown, kept in (
                (f"fresh draw {k}, optimum's programme", flight, float(self.before[k])),
                (f"fresh draw {k}, robust programme", other, float(self.after[k])),
            ):
                checks.append(_check(what, kept, float(flown.fly(own).margin[0])))
        unchecked = ("that no other programme is better: search again",)
        return Verification(subject="robust programme", checks=tuple(checks), unchecked=unchecked)

    def to_table(self) -> Table:
        """The programme through the air, every two seconds: the optimum's pitch and this one."""
        columns = (
            ("time", "s"), ("pitch_of_the_optimum", "rad"), ("shift", "rad"), ("pitch", "rad"),
        )  # fmt: skip
        track = self.ascent.trajectory
        times = np.arange(0.0, self.times[-1] + _EVERY, _EVERY)
        pitch = np.interp(times, track.time, track.pitch)
        shifts = PitchShift(self.times, self.shifts).at(times)
        rows = zip(times, pitch, shifts, pitch + shifts, strict=True)
        return Table.of("robust programme", columns, rows)

    def __repr__(self) -> str:
        gain = f"gains {self.gain:.2f} kg ({self.against})"
        return one_line(self, self.ascent.vehicle.name, gain)

    def __str__(self) -> str:
        one = self.ascent
        knots = ", ".join(
            f"{signed(shift / deg, 2)} deg at {time:.0f} s"
            for time, shift in zip(self.times[1:], self.shifts[1:], strict=True)
        )
        cost = self.nominal_before - self.nominal_after
        where = f"{one.vehicle.name} to {one.mission.orbit} of {one.mission.body.name}"
        lines = [
            f"{where}: programme for the {self.against} of days",
            f"  pitch beside the optimum's: {knots}",
            self._gain_told,
            f"  costs {cost:.2f} kg where nothing is off",
        ]
        if self.held:
            names = ", ".join(name.replace("_", " ") for name in self.held)
            lines.append(f"  held by {names}: no more than the limit, or than by the optimum's")
        return "\n".join([*lines, "Preliminary analysis only."])

    @property
    def _gain_told(self) -> str:
        if not len(self.after):
            return f"  stopped before it was judged by fresh flights; tuned on {self.tuned}"
        told = f", of the mean {self.error:.2f} kg" if not isinstance(self.against, Mean) else ""
        error = told or f", with a standard error of {self.error:.2f} kg"
        return (
            f"  gains {self.gain:.2f} kg on {len(self.before)} fresh flights{error}; tuned on "
            f"{self.tuned} others"
        )


def _check(what: str, kept: float, found: float) -> Check:
    return Check(
        quantity=f"{what}: propellant left", kept=kept, found=found,
        tolerance=_SAME * max(1.0, abs(kept)), unit="kg",
    )  # fmt: skip
