"""Numbers of a stage or of a group of boosters that may scatter, a class each."""

from __future__ import annotations

from abc import abstractmethod
from dataclasses import dataclass
from typing import ClassVar

from ascentopt.arguments import checked
from ascentopt.arguments.sense import Sense
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, Stage, Vehicle
from ascentopt.studies.dispersions.scatter import sensible
from ascentopt.studies.dispersions.scatter.dispersion import Lateness, Measure, NumberDispersion
from ascentopt.studies.dispersions.scatter.distributions import Distribution
from ascentopt.studies.dispersions.scatter.draft import DeviationsDraft, part_named
from ascentopt.typing import Floats
from ascentopt.validation import require


@dataclass(frozen=True)
class _OfPart(NumberDispersion):
    """Of a stage, or of all boosters of a group alike."""

    part: str
    by: Distribution

    what: ClassVar[str]
    sense: ClassVar[Sense]

    def __post_init__(self) -> None:
        owner = type(self).__name__
        check_part(owner, self.part, "Name a stage or a group of boosters.")
        check_share(owner, self.by)
        self.sense.check(owner, "the standard deviation", self.by.spread)

    @property
    def name(self) -> str:
        """The part and the quantity."""
        return f"{self.part}: {self.what}"

    @property
    def unit(self) -> str:
        """A share of what the description says."""
        return "-"

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse a part that the vehicle has not. Raises `InputError`."""
        part_named(vehicle, self.part, type(self).__name__)

    def measure(self, vehicle: Vehicle) -> Measure | None:
        """By the partials of the same quantity."""
        part = part_named(vehicle, self.part, type(self).__name__)
        many = isinstance(part, BoosterGroup) and part.count > 1
        each = f" of each of {part.count}" if isinstance(part, BoosterGroup) and many else ""
        terms = self._partials(part).items()
        return Measure(tuple((f"{self.part}: {label}{each}", units) for label, units in terms))

    @abstractmethod
    def _partials(self, part: Stage | BoosterGroup) -> dict[str, float]:
        """Names of partials, and their units for the whole of what the description says."""


def check_part(owner: str, part: object, fix: str) -> None:
    """Refuse what is no name of a part. Raises `InputError`."""
    good = isinstance(part, str) and part.strip() != ""
    require(owner, "part", part, "", "a text that is not empty", fix, holds=good)


def check_share(owner: str, by: Distribution) -> None:
    """Refuse a scatter that may leave nothing of what it is a share of. Raises `InputError`."""
    far = float(f"{by.farthest:.6g}")
    slip = f"It looks like per cent: write {by.spread / 100.0:g}. " if by.spread > 0.1 else ""
    fix = f"{slip}A share of 0.01 is one per cent; a normal distribution can be cut, by "
    require(
        owner, "the farthest draw", far, "", "below 1, as a share of what the description says",
        f"{fix}TruncatedNormal.", holds=far < 1.0,
    )  # fmt: skip


@checked
@dataclass(frozen=True)
class ThrustDispersion(_OfPart):
    """Thrust of a stage or of a group of boosters, as a share: 0.01 is one per cent.

    The propellant is the same and burns in less time; the specific impulse stays. Raises
    `InputError`.
    """

    what: ClassVar = "thrust"
    sense: ClassVar = sensible.THRUST

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As factors on the thrust."""
        draft.column("thrust", self.part)[:] *= 1.0 + values

    def _partials(self, part: Stage | BoosterGroup) -> dict[str, float]:
        return {"thrust": 100.0}


@checked
@dataclass(frozen=True)
class IspDispersion(_OfPart):
    """Specific impulse of a stage or of a group of boosters, as a share.

    The thrust stays: less is burned each second. Raises `InputError`.
    """

    what: ClassVar = "Isp"
    sense: ClassVar = sensible.ISP

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As factors on the specific impulse."""
        draft.column("isp", self.part)[:] *= 1.0 + values

    def _partials(self, part: Stage | BoosterGroup) -> dict[str, float]:
        # At the same thrust and exit area: that at sea level, where it is given, changes as well.
        low = part.engine.sea_level_isp
        at_sea_level = {} if low is None else {"sea-level Isp": low}
        return {"vacuum Isp": part.engine.vacuum_isp, **at_sea_level}


@checked
@dataclass(frozen=True)
class DryMassDispersion(_OfPart):
    """Dry mass of a stage or of each booster of a group, as a share. Raises `InputError`."""

    what: ClassVar = "dry mass"
    sense: ClassVar = sensible.DRY_MASS

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As kilograms more."""
        part = part_named(draft.vehicle, self.part, type(self).__name__)
        draft.column("dry_mass", self.part)[:] += values * part.dry_mass

    def _partials(self, part: Stage | BoosterGroup) -> dict[str, float]:
        return {"dry mass": part.dry_mass}


@checked
@dataclass(frozen=True)
class PropellantDispersion(_OfPart):
    """Propellant loaded in a stage or each booster of a group, as a share. Raises `InputError`."""

    what: ClassVar = "propellant"
    sense: ClassVar = sensible.PROPELLANT

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As kilograms more."""
        part = part_named(draft.vehicle, self.part, type(self).__name__)
        draft.column("propellant", self.part)[:] += values * part.propellant_mass

    def _partials(self, part: Stage | BoosterGroup) -> dict[str, float]:
        return {"propellant": part.propellant_mass}


@checked
@dataclass(frozen=True)
class IgnitionDispersion(Lateness):
    """Seconds by which a stage above the first is lit later than planned. Raises `InputError`.

    Nothing is lit early, so of the distribution the half above zero counts, twice as likely: a
    normal one gives a half-normal delay, `Uniform(0.5)` one between 0 and 0.5 s.
    """

    part: str
    by: Distribution

    def __post_init__(self) -> None:
        check_part("IgnitionDispersion", self.part, "Name a stage above the first.")
        sensible.TIME.check("IgnitionDispersion", "the standard deviation", self.by.spread)

    @property
    def name(self) -> str:
        """The stage and the quantity."""
        return f"{self.part}: ignition delay"

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse what is no stage above the first. Raises `InputError`."""
        above = [stage.name for stage in vehicle.stages[1:]]
        part_named(vehicle, self.part, "IgnitionDispersion")
        rule = f"a stage above the first, {', '.join(map(repr, above)) or 'of which there is none'}"
        fix = "The clock begins as the first stage lifts off; boosters are lit with it."
        require("IgnitionDispersion", "part", self.part, "", rule, fix, holds=self.part in above)

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As delays."""
        draft.column("ignition_delay", self.part)[:] += values


@checked
@dataclass(frozen=True)
class SeparationDispersion(Lateness):
    """Seconds by which a spent stage or group of boosters hangs on. Raises `InputError`.

    As for `IgnitionDispersion` the half of the distribution above zero counts. A stage coasts with
    what is spent; beside boosters the core burns on.
    """

    part: str
    by: Distribution

    def __post_init__(self) -> None:
        check_part("SeparationDispersion", self.part, "Name what is dropped.")
        sensible.TIME.check("SeparationDispersion", "the standard deviation", self.by.spread)

    @property
    def name(self) -> str:
        """The part and the quantity."""
        return f"{self.part}: separation delay"

    def check(self, vehicle: Vehicle, mission: Mission) -> None:
        """Refuse what is not dropped on the way. Raises `InputError`."""
        part_named(vehicle, self.part, "SeparationDispersion")
        last = vehicle.stages[-1].name
        rule = f"dropped on the way, which {last!r} is not"
        fix = "Name a lower stage or a group of boosters."
        require("SeparationDispersion", "part", self.part, "", rule, fix, holds=self.part != last)

    def put(self, values: Floats, draft: DeviationsDraft) -> None:
        """As delays."""
        draft.column("separation_delay", self.part)[:] += values
