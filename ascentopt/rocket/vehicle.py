"""The whole vehicle on the pad."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket.aerodynamics import Aerodynamics
from ascentopt.rocket.performance import Burn, burns
from ascentopt.rocket.sensible import FAIRING_SHARE, MASS_OVER_AREA, PAYLOAD_SHARE
from ascentopt.rocket.stage import BoosterGroup, Fairing, Stage
from ascentopt.tables import Table, one_line, page
from ascentopt.units import STANDARD_GRAVITY
from ascentopt.validation import instance, named, not_negative

# Burn-out of a booster and of the core may coincide; this much of a second is rounding.
_CLOCK_TOLERANCE = 1e-6


@checked
@dataclass(frozen=True, kw_only=True)
class Vehicle:
    """Payload, stages from the first to fly upwards, boosters, fairing and aerodynamics.

    `payload_mass` kg. Boosters burn beside the first stage and may not outlast it. No
    `aerodynamics` = the air exerts no force. Lists are taken for tuples. Raises `InputError`.
    """

    name: str
    payload_mass: float
    stages: Sequence[Stage]
    boosters: Sequence[BoosterGroup] = ()
    fairing: Fairing | None = None
    aerodynamics: Aerodynamics | None = None

    def __post_init__(self) -> None:
        named("Vehicle", self.name, "Give the vehicle a name.")
        owner = f"Vehicle {self.name!r}"
        fix = "Give what is to be delivered in kilograms; 0 is allowed."
        not_negative(owner, "payload_mass", self.payload_mass, "kg", fix)
        self._keep(owner, "stages", Stage)
        self._keep(owner, "boosters", BoosterGroup)
        self._check_optional(owner, "fairing", Fairing)
        self._check_optional(owner, "aerodynamics", Aerodynamics)
        if not self.stages:
            raise InputError(f"{owner}: stages is empty; it must hold a stage. Give at least one.")
        self._check_names(owner)
        self._check_boosters(owner)
        self._check_sense(owner)

    def _check_sense(self, owner: str) -> None:
        """Refuse, or warn of, masses and areas that do not go together. Raises `InputError`."""
        if self.payload_mass > 0.0:
            mass, whole = self.payload_mass, self.lift_off_mass
            name = f"payload_mass ({mass:g} kg) over the mass at lift-off ({whole:g} kg)"
            slip = f"The payload looks like tonnes: write {mass:g} * tonne."
            PAYLOAD_SHARE.check(owner, name, mass / whole, slip)
        if self.fairing is not None:
            mass, whole = self.fairing.mass, self.lift_off_mass
            name = f"fairing.mass ({mass:g} kg) over the mass at lift-off ({whole:g} kg)"
            light = mass < FAIRING_SHARE.low * whole
            unit = f"tonnes: write {mass:g} * tonne" if light else f"grams: write {mass / 1e3:g}"
            FAIRING_SHARE.check(owner, name, mass / whole, f"The fairing looks like {unit}.")
        if self.aerodynamics is not None:
            mass, area = self.lift_off_mass, self.aerodynamics.reference_area
            name = f"mass ({mass:g} kg) over reference_area ({area:g} m^2)"
            slip = f"The area looks like cm^2: write {area:g} * cm**2." if mass < area else ""
            MASS_OVER_AREA.check(owner, name, mass / area, slip)

    def _keep(self, owner: str, name: str, kind: type) -> None:
        parts = getattr(self, name)
        fix = f"Give a list of {kind.__name__} objects."
        instance(owner, name, parts, (list, tuple), fix)
        for index, part in enumerate(parts):
            instance(owner, f"{name}[{index}]", part, (kind,), fix)
        object.__setattr__(self, name, tuple(parts))

    def _check_optional(self, owner: str, name: str, kind: type) -> None:
        fix = f"Give a {kind.__name__} or None."
        instance(owner, name, getattr(self, name), (kind, type(None)), fix)

    def _check_names(self, owner: str) -> None:
        seen: set[str] = set()
        parts: list[Stage | BoosterGroup] = [*self.stages, *self.boosters]
        for part in parts:
            if part.name in seen:
                raise InputError(
                    f"{owner}: two parts are named {part.name!r}; names must differ, since events "
                    "and results are told apart by them. Rename one."
                )
            seen.add(part.name)

    def _check_boosters(self, owner: str) -> None:
        core = self.stages[0]
        end = core.ignition_delay + core.burn_time / core.engine.min_throttle
        for group in self.boosters:
            if group.burn_out_time > end + _CLOCK_TOLERANCE:
                raise InputError(
                    f"{owner}: booster group {group.name!r} burns out at "
                    f"{group.burn_out_time:.6g} s, but stage {core.name!r} beside it can burn to "
                    f"{end:.6g} s at the latest; boosters must not outlast the stage that carries "
                    "them. Light them earlier, give them less propellant, or the stage more."
                )

    @property
    def max_heating(self) -> float | None:
        """Free-molecular heating in W/m^2 that the fairing's drop waits for; None without one."""
        return self.fairing.max_heating if self.fairing is not None else None

    @property
    def lift_off_mass(self) -> float:
        """Mass in kg on the pad with everything aboard."""
        return self.mass_above(-1) + sum(group.mass for group in self.boosters)

    @property
    def fairing_mass(self) -> float:
        """Mass in kg of the fairing, zero without one."""
        return self.fairing.mass if self.fairing is not None else 0.0

    @property
    def propellant_mass(self) -> float:
        """Propellant in kg in all stages and boosters."""
        boosters = sum(group.count * group.propellant_mass for group in self.boosters)
        return boosters + sum(stage.propellant_mass for stage in self.stages)

    @property
    def ideal_delta_v(self) -> float:
        """Speed in m/s gained in vacuum without gravity, to the last kilogram of propellant."""
        return sum(burn.delta_v for burn in burns(self))

    def mass_above(self, stage_index: int) -> float:
        """Return the mass in kg carried by a stage: those above it, full, payload and fairing.

        Index -1 asks what the pad carries, boosters apart. The fairing is counted always.
        """
        above = self.stages[stage_index + 1 :]
        return self.payload_mass + self.fairing_mass + sum(stage.mass for stage in above)

    def with_payload_above(self, stage_index: int) -> Vehicle:
        """Return the same rocket, its stages above a stage taken for payload."""
        carried = self.mass_above(stage_index) - self.fairing_mass
        kept = self.stages[: stage_index + 1]
        return self if kept == self.stages else replace(self, stages=kept, payload_mass=carried)

    def with_ballast(self, mass: float) -> Vehicle:
        """Return the same rocket with so many kg more of payload."""
        return replace(self, payload_mass=self.payload_mass + mass) if mass else self

    def __repr__(self) -> str:
        stages = f"{len(self.stages)} stages" if len(self.stages) > 1 else "1 stage"
        masses = f"{self.lift_off_mass:.0f} kg at lift-off", f"{self.payload_mass:.0f} kg payload"
        return one_line(self, repr(self.name), stages, *masses)

    def _repr_html_(self) -> str:
        first = f"Vehicle {self.name!r}: {self.lift_off_mass:.0f} kg at lift-off"
        fairing = f", fairing {self.fairing.mass:.0f} kg" if self.fairing is not None else ""
        line = f"payload {self.payload_mass:.0f} kg{fairing}"
        return page(first, [line], [self._part_table(), self._burn_table()])

    def _part_table(self) -> Table:
        columns = (
            ("part", ""), ("count", ""), ("propellant", "kg"), ("dry", "kg"),
            ("vacuum_thrust", "N"), ("vacuum_Isp", "s"), ("burn", "s"),
        )  # fmt: skip
        groups = (_cells(group.count, group) for group in self.boosters)
        return Table.of("each part", columns, [*groups, *(_cells(1, s) for s in self.stages)])

    def _burn_table(self) -> Table:
        columns = (
            ("burn", ""), ("mass", "kg"), ("thrust_to_weight", "-"), ("delta_v", "m/s"),
            ("duration", "s"),
        )  # fmt: skip
        rows = (
            (
                one.name, one.initial_mass, one.thrust / (one.initial_mass * STANDARD_GRAVITY),
                one.delta_v, one.duration,
            )
            for one in burns(self)
        )  # fmt: skip
        return Table.of(f"ideal delta-v {self.ideal_delta_v:.0f} m/s", columns, rows)

    def __str__(self) -> str:
        lines = [
            f"Vehicle {self.name!r}: {self.lift_off_mass:.0f} kg at lift-off",
            f"  payload {self.payload_mass:.0f} kg, ideal delta-v {self.ideal_delta_v:.0f} m/s",
            f"  {'':24}{'propellant':>12}{'dry':>10}{'thrust':>10}{'Isp':>8}{'burn':>9}",
            f"  {'':24}{'kg':>12}{'kg':>10}{'kN':>10}{'s':>8}{'s':>9}",
        ]
        lines += [_row(f"{group.count} x {group.name}", group) for group in self.boosters]
        lines += [_row(stage.name, stage) for stage in self.stages]
        if self.fairing is not None:
            lines.append(f"  {'fairing':24}{'':12}{self.fairing.mass:10.0f}")
        lines.append(f"  {'burn':24}{'mass kg':>12}{'T/W':>10}{'delta-v':>10}{'':8}{'s':>9}")
        lines += [_burn_row(burn) for burn in burns(self)]
        return "\n".join(lines)


def _cells(count: int, part: Stage | BoosterGroup) -> tuple[object, ...]:
    motor = part.engine
    masses = float(part.propellant_mass), float(part.dry_mass)
    return part.name, count, *masses, motor.mean_thrust, motor.vacuum_isp, part.burn_time


def _row(label: str, part: Stage | BoosterGroup) -> str:
    return (
        f"  {label:24}{part.propellant_mass:12.0f}{part.dry_mass:10.0f}"
        f"{part.engine.mean_thrust / 1e3:10.1f}{part.engine.vacuum_isp:8.1f}{part.burn_time:9.1f}"
    )


def _burn_row(burn: Burn) -> str:
    weight = burn.initial_mass * STANDARD_GRAVITY
    return (
        f"  {burn.name:24}{burn.initial_mass:12.0f}{burn.thrust / weight:10.2f}"
        f"{burn.delta_v:10.0f}{'':8}{burn.duration:9.1f}"
    )
