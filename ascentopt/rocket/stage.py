"""What is dropped: stages, boosters beside the first stage, and the fairing."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket.engine import Engine, Propulsion, SolidMotor
from ascentopt.rocket.sensible import (
    BURN_TIME,
    EMPTY_SHARE,
    HEATING,
    IGNITION_DELAY,
    OWN_ACCELERATION,
)
from ascentopt.validation import counting, instance, named, not_negative, positive

# A thrust curve read off a printed plot misses the propellant by a few tenths of a per cent
# (common practice, no source); more than that is a mistake in the data.
_CURVE_TOLERANCE = 5e-3

# Below this the two masses agree as well as sums of floats can.
_AGREEMENT = 1e-9


@checked
@dataclass(frozen=True, kw_only=True)
class Stage:
    """One stage of the stack.

    `propellant_mass` is what it may burn and `dry_mass` what is dropped with it, both kg. It can be
    lit again `restarts` times after its first ignition, and first lights `ignition_delay` seconds
    after it is set free. Whatever propellant is left when it is dropped is dropped with it.

    With a `SolidMotor` the propellant must agree with the thrust curve within 0.5 %; the thrusts
    are then scaled (`SolidMotor.scaled_to`) so that both agree exactly. Raises `InputError`.
    """

    name: str
    propellant_mass: float
    dry_mass: float
    engine: Propulsion
    restarts: int = 0
    ignition_delay: float = 0.0

    def __post_init__(self) -> None:
        named("Stage", self.name, "Give the stage a name.")
        owner = f"Stage {self.name!r}"
        _check_masses(owner, self.propellant_mass, self.dry_mass, "stage")
        engine = _matched(owner, self.engine, self.propellant_mass)
        object.__setattr__(self, "engine", engine)
        _check_sense(owner, self)
        counting(owner, "restarts", self.restarts, 0, "Say how often it can be lit again.")
        fix = "Give the coast before ignition in seconds."
        not_negative(owner, "ignition_delay", self.ignition_delay, "s", fix)
        IGNITION_DELAY.check(owner, "ignition_delay", self.ignition_delay)
        if self.restarts and isinstance(engine, SolidMotor):
            raise InputError(
                f"{owner}: restarts is {self.restarts}; it must be 0 with a SolidMotor, which "
                "burns once and to the end. Set restarts=0 or use an Engine."
            )

    def __str__(self) -> str:
        return (
            f"Stage {self.name!r}: {self.propellant_mass:.0f} kg propellant, "
            f"{self.dry_mass:.0f} kg dry, {self.engine.mean_thrust / 1e3:.1f} kN, "
            f"{self.engine.vacuum_isp:.1f} s"
        )

    @property
    def mass(self) -> float:
        """Mass in kg with all propellant."""
        return self.propellant_mass + self.dry_mass

    @property
    def burn_time(self) -> float:
        """Seconds to burn all propellant at full throttle."""
        return _burn_time(self.engine, self.propellant_mass)


@checked
@dataclass(frozen=True, kw_only=True)
class BoosterGroup:
    """`count` equal boosters that burn beside the first stage and are dropped at burn-out.

    `propellant_mass`, `dry_mass` (kg) and `engine` are those of one booster; `ignition_time` (s)
    counts from lift-off. Boosters do not throttle: an `Engine` runs at full thrust whatever its
    `min_throttle`. A `SolidMotor` is held against the propellant as in `Stage`. Raises
    `InputError`.
    """

    name: str
    count: int
    propellant_mass: float
    dry_mass: float
    engine: Propulsion
    ignition_time: float = 0.0

    def __post_init__(self) -> None:
        named("BoosterGroup", self.name, "Give the group of boosters a name.")
        owner = f"BoosterGroup {self.name!r}"
        counting(owner, "count", self.count, 1, "Give the number of boosters in the group.")
        _check_masses(owner, self.propellant_mass, self.dry_mass, "booster")
        object.__setattr__(self, "engine", _matched(owner, self.engine, self.propellant_mass))
        _check_sense(owner, self)
        fix = "Give the time of ignition in seconds after lift-off."
        not_negative(owner, "ignition_time", self.ignition_time, "s", fix)

    def __str__(self) -> str:
        return (
            f"BoosterGroup {self.name!r}: {self.count} x ({self.propellant_mass:.0f} kg "
            f"propellant, {self.dry_mass:.0f} kg dry, {self.engine.mean_thrust / 1e3:.1f} kN), "
            f"burning {self.ignition_time:.1f} to {self.burn_out_time:.1f} s"
        )

    @property
    def mass(self) -> float:
        """Mass in kg of the whole group with all propellant."""
        return self.count * (self.propellant_mass + self.dry_mass)

    @property
    def burn_time(self) -> float:
        """Seconds from ignition to burn-out."""
        return _burn_time(self.engine, self.propellant_mass)

    @property
    def burn_out_time(self) -> float:
        """Seconds from lift-off to burn-out, when the group is dropped."""
        return self.ignition_time + self.burn_time


@checked
@dataclass(frozen=True, kw_only=True)
class Fairing:
    """The cover of the payload: `mass` kg, dropped once heating has fallen to `max_heating` W/m^2.

    Heating is the free-molecular flux, half rho v^3. The default, 0.1 BTU/(ft^2 s) = 1135 W/m^2,
    is the limit that users' guides of launchers commonly promise a payload. Raises `InputError`.
    """

    mass: float
    max_heating: float = 1135.0

    def __post_init__(self) -> None:
        positive("Fairing", "mass", self.mass, "kg", "Give it in kilograms; no fairing is None.")
        fix = "Give the heating that the payload bears in W/m^2; 1135 is common."
        positive("Fairing", "max_heating", self.max_heating, "W/m^2", fix)
        HEATING.check("Fairing", "max_heating", self.max_heating)


def _check_masses(owner: str, propellant_mass: float, dry_mass: float, thing: str) -> None:
    fix = f"Give the propellant that the {thing} may burn in kilograms."
    positive(owner, "propellant_mass", propellant_mass, "kg", fix)
    fix = f"Give the mass of the empty {thing} in kilograms."
    positive(owner, "dry_mass", dry_mass, "kg", fix)


def _check_sense(owner: str, part: Stage | BoosterGroup) -> None:
    """Refuse, or warn of, masses and thrusts that do not go together. Raises `InputError`."""
    held, dry, thrust = part.propellant_mass, part.dry_mass, part.engine.mean_thrust
    ratio = f"thrust ({thrust:g} N) over mass ({held + dry:g} kg)"
    slip = f"The masses look like tonnes: write {held:g} * tonne and {dry:g} * tonne."
    OWN_ACCELERATION.check(owner, ratio, thrust / (held + dry), slip)
    share = f"dry_mass ({dry:g} kg) over propellant_mass ({held:g} kg)"
    light, what = (dry, "dry mass") if dry < held else (held, "propellant")
    slip = f"The {what} looks like tonnes: write {light:g} * tonne."
    EMPTY_SHARE.check(owner, share, dry / held, slip)
    if isinstance(part.engine, Engine):
        burn = f"burn time of {held:g} kg at {thrust:g} N"
        BURN_TIME.check(owner, burn, part.burn_time, f"It looks like kN: write {thrust:g} * kN.")


def _matched(owner: str, engine: Propulsion, propellant_mass: float) -> Propulsion:
    """Return `engine`, scaled to the propellant when it is a solid motor that nearly fits."""
    instance(owner, "engine", engine, (Engine, SolidMotor), "Give an Engine or a SolidMotor.")
    if isinstance(engine, Engine):
        return engine
    miss = abs(engine.propellant_mass / propellant_mass - 1.0)
    if miss > _CURVE_TOLERANCE:
        raise InputError(
            f"{owner}: propellant_mass is {propellant_mass!r} kg, but the thrust curve of its "
            f"SolidMotor burns {engine.propellant_mass:.6g} kg; the two must agree within 0.5 %. "
            f"{_thousandfold(engine.propellant_mass / propellant_mass)}"
            "Correct one of them, or use motor.scaled_to(propellant_mass)."
        )
    return engine if miss <= _AGREEMENT else engine.scaled_to(propellant_mass)


def _thousandfold(ratio: float) -> str:
    """The slip of which two masses tell that are a thousandfold apart, more or less."""
    if 2e-4 < ratio < 5e-3:
        return "The thrusts look like kN: write 300 * kN. "
    return "The propellant looks like tonnes: write 62 * tonne. " if 2e2 < ratio < 5e3 else ""


def _burn_time(engine: Propulsion, propellant_mass: float) -> float:
    if isinstance(engine, SolidMotor):
        return engine.burn_time
    return propellant_mass / engine.mass_flow
