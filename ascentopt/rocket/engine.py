"""Propulsion: throttleable engines of constant thrust, and solid motors with a thrust curve."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket.burned import by_burned
from ascentopt.rocket.sensible import SOLID_BURN_TIME, SPECIFIC_IMPULSE
from ascentopt.typing import Value
from ascentopt.units import SEA_LEVEL_PRESSURE, STANDARD_GRAVITY
from ascentopt.validation import (
    finite,
    increasing,
    not_negative,
    numbers,
    positive,
    require,
    same_length,
)
from ascentopt.world.table import SmoothTable

_ISP_FIX = "Give the specific impulse in seconds."
_INSTANT_FIX = "Give the seconds since ignition."
_AREA_FIX = "Give the exit area of all nozzles together in square metres."


@checked
@dataclass(frozen=True, kw_only=True)
class Engine:
    """The engines of a stage taken together, at full throttle.

    `vacuum_thrust` N, `vacuum_isp` s, `min_throttle` the least fraction of full thrust (1 = cannot
    throttle). At most one of `sea_level_isp` (s), `sea_level_thrust` (N) and `exit_area` (m^2)
    says how back-pressure takes thrust away; none of them = it does not. "Sea level" means
    101325 Pa on any body. Raises `InputError`.
    """

    vacuum_thrust: float
    vacuum_isp: float
    sea_level_isp: float | None = None
    sea_level_thrust: float | None = None
    exit_area: float | None = None
    min_throttle: float = 1.0

    def __post_init__(self) -> None:
        positive("Engine", "vacuum_thrust", self.vacuum_thrust, "N", "Give the thrust in newtons.")
        positive("Engine", "vacuum_isp", self.vacuum_isp, "s", _ISP_FIX)
        SPECIFIC_IMPULSE.check("Engine", "vacuum_isp", self.vacuum_isp)
        _check_back_pressure("Engine", self.vacuum_isp, self.sea_level_isp, self.exit_area)
        self._check_sea_level_thrust()
        fix = "Give a fraction of full thrust; 1.0 for an engine that cannot throttle."
        finite("Engine", "min_throttle", self.min_throttle, "", fix)
        good = 0.0 < self.min_throttle <= 1.0
        if 1.0 < self.min_throttle <= 100.0:
            fix = f"It looks like per cent: write {self.min_throttle / 100:g}. {fix}"
        require(
            "Engine",
            "min_throttle",
            self.min_throttle,
            "",
            "above 0 and at most 1",
            fix,
            holds=good,
        )

    def _check_sea_level_thrust(self) -> None:
        inputs = {
            "sea_level_isp": self.sea_level_isp,
            "sea_level_thrust": self.sea_level_thrust,
            "exit_area": self.exit_area,
        }
        _at_most_one("Engine", inputs)
        if self.sea_level_thrust is not None:
            fix = "Give the thrust at 101325 Pa in newtons, or leave it out."
            positive("Engine", "sea_level_thrust", self.sea_level_thrust, "N", fix)
            good = self.sea_level_thrust <= self.vacuum_thrust
            rule = f"at most vacuum_thrust ({self.vacuum_thrust!r} N)"
            require("Engine", "sea_level_thrust", self.sea_level_thrust, "N", rule, fix, holds=good)

    @property
    def effective_exit_area(self) -> float:
        """Exit area in m^2: thrust = vacuum thrust - ambient pressure x this area."""
        if self.sea_level_thrust is not None:
            return (self.vacuum_thrust - self.sea_level_thrust) / SEA_LEVEL_PRESSURE
        return _exit_area(self.vacuum_thrust, self.vacuum_isp, self.sea_level_isp, self.exit_area)

    @property
    def mass_flow(self) -> float:
        """Propellant flow at full throttle in kg/s; the ambient pressure does not change it."""
        return self.vacuum_thrust / self.exhaust_speed

    @property
    def exhaust_speed(self) -> float:
        """Effective exhaust speed in vacuum, m/s."""
        return STANDARD_GRAVITY * self.vacuum_isp

    @property
    def thrust_at_sea_level(self) -> float:
        """Full thrust at 101325 Pa in N; below zero for a nozzle that cannot work there."""
        return self.vacuum_thrust - SEA_LEVEL_PRESSURE * self.effective_exit_area

    @property
    def isp_at_sea_level(self) -> float:
        """Specific impulse at 101325 Pa in s."""
        return self.vacuum_isp * self.thrust_at_sea_level / self.vacuum_thrust

    @property
    def mean_thrust(self) -> float:
        """Vacuum thrust in N, under the name that it shares with a solid motor."""
        return self.vacuum_thrust

    def vacuum_thrust_at(self, time: Value) -> Value:
        """Return full vacuum thrust in N at `time` (s) since ignition: always the same."""
        return self.vacuum_thrust

    def mass_flow_at(self, time: Value) -> Value:
        """Return the full propellant flow in kg/s at `time` (s) since ignition."""
        return self.mass_flow


@checked
@dataclass(frozen=True, kw_only=True)
class SolidMotor:
    """A solid motor: once lit, thrust follows its curve to the end.

    `time` (s since ignition, from 0) and `vacuum_thrust` (N, positive; the first may be zero) are
    points of the curve, joined smoothly and without overshoot; `vacuum_isp` s is constant. On the
    pad a vehicle is held down until thrust exceeds weight by a hundredth: that is lift-off, and
    what was burned before counts as used. Either `sea_level_isp` (s; at
    mean thrust) or `exit_area` (m^2) says how back-pressure takes thrust away, neither = it does
    not. Raises `InputError`.
    """

    time: Sequence[float]
    vacuum_thrust: Sequence[float]
    vacuum_isp: float
    sea_level_isp: float | None = None
    exit_area: float | None = None

    def __post_init__(self) -> None:
        fix = "Give the thrust curve as a list of times in s and a list of thrusts in N."
        for name, unit in (("time", "s"), ("vacuum_thrust", "N")):
            values = numbers("SolidMotor", name, getattr(self, name), unit, fix)
            object.__setattr__(self, name, values)
        self._check_curve(fix)
        positive("SolidMotor", "vacuum_isp", self.vacuum_isp, "s", _ISP_FIX)
        SPECIFIC_IMPULSE.check("SolidMotor", "vacuum_isp", self.vacuum_isp)
        inputs = {"sea_level_isp": self.sea_level_isp, "exit_area": self.exit_area}
        _at_most_one("SolidMotor", inputs)
        _check_back_pressure("SolidMotor", self.vacuum_isp, self.sea_level_isp, self.exit_area)

    def _check_curve(self, fix: str) -> None:
        columns = {"time": tuple(self.time), "vacuum_thrust": tuple(self.vacuum_thrust)}
        same_length("SolidMotor", columns, fix)
        if len(self.time) < 2:
            raise InputError(
                f"SolidMotor: time has {len(self.time)} values; it must have at least 2. {fix}"
            )
        require("SolidMotor", "time[0]", self.time[0], "s", "0.0", fix, holds=self.time[0] == 0.0)
        increasing("SolidMotor", "time", self.time, "s", "Sort the points by time.")
        SOLID_BURN_TIME.check("SolidMotor", "time[-1]", self.time[-1])
        not_negative("SolidMotor", "vacuum_thrust[0]", self.vacuum_thrust[0], "N", fix)
        for index, thrust in enumerate(self.vacuum_thrust[1:], start=1):
            positive("SolidMotor", f"vacuum_thrust[{index}]", thrust, "N", fix)

    @cached_property
    def curve(self) -> SmoothTable:
        """Vacuum thrust in N against the time since ignition in s."""
        return SmoothTable.through(x=self.time, y=self.vacuum_thrust)

    @property
    def min_throttle(self) -> float:
        """A solid motor cannot throttle."""
        return 1.0

    @property
    def burn_time(self) -> float:
        """Seconds from ignition to burn-out."""
        return self.time[-1]

    @cached_property
    def total_impulse(self) -> float:
        """Integral of vacuum thrust over the burn in N s."""
        return self.curve.integral()

    @property
    def propellant_mass(self) -> float:
        """Propellant in kg that the curve and the specific impulse imply."""
        return self.total_impulse / self.exhaust_speed

    @property
    def exhaust_speed(self) -> float:
        """Vacuum thrust over propellant flow in m/s."""
        return STANDARD_GRAVITY * self.vacuum_isp

    @property
    def mean_thrust(self) -> float:
        """Vacuum thrust in N averaged over the burn."""
        return self.total_impulse / self.burn_time

    @property
    def mass_flow(self) -> float:
        """Propellant flow in kg/s averaged over the burn."""
        return self.propellant_mass / self.burn_time

    @property
    def effective_exit_area(self) -> float:
        """Exit area in m^2: thrust = vacuum thrust - ambient pressure x this area."""
        return _exit_area(self.mean_thrust, self.vacuum_isp, self.sea_level_isp, self.exit_area)

    @property
    def thrust_at_sea_level(self) -> float:
        """Mean thrust at 101325 Pa in N."""
        return self.mean_thrust - SEA_LEVEL_PRESSURE * self.effective_exit_area

    @property
    def isp_at_sea_level(self) -> float:
        """Specific impulse at 101325 Pa in s, over the whole burn."""
        return self.vacuum_isp * self.thrust_at_sea_level / self.mean_thrust

    def vacuum_thrust_at(self, time: Value) -> Value:
        """Return vacuum thrust in N at `time` (s) since ignition; meant for 0 to `burn_time`."""
        return self.curve(time)

    def mass_flow_at(self, time: Value) -> Value:
        """Return the propellant flow in kg/s at `time` (s) since ignition."""
        return self.curve(time) / self.exhaust_speed

    @cached_property
    def by_burned(self) -> SmoothTable:
        """Vacuum thrust in N against the propellant burned in kg."""
        return by_burned(self.curve, self.exhaust_speed)

    def after(self, seconds: float) -> SolidMotor:
        """Return what is left of this motor so many seconds after its ignition, burning on.

        Its curve goes through the same points, joined anew: between them it differs a little.
        Raises `InputError` for an instant before ignition or after burn-out.
        """
        not_negative("SolidMotor", "seconds", seconds, "s", _INSTANT_FIX)
        # What is nearer to a point than rounding is that point.
        later = [k for k, time in enumerate(self.time) if time - seconds > 1e-9 * self.burn_time]
        rule = f"before burn-out ({self.burn_time!r} s)"
        require("SolidMotor", "seconds", seconds, "s", rule, _INSTANT_FIX, holds=bool(later))
        if seconds == 0.0:
            return self
        times = (0.0, *(self.time[k] - seconds for k in later))
        thrusts = (float(self.curve(seconds)), *(self.vacuum_thrust[k] for k in later))
        area = self.effective_exit_area  # of the nozzle, which stays what it is
        return SolidMotor(
            time=times, vacuum_thrust=thrusts, vacuum_isp=self.vacuum_isp, exit_area=area
        )

    def scaled_to(self, propellant_mass: float) -> SolidMotor:
        """Return this motor with all thrusts scaled so that it burns exactly `propellant_mass`."""
        positive("SolidMotor", "propellant_mass", propellant_mass, "kg", "Give it in kilograms.")
        factor = propellant_mass / self.propellant_mass
        return replace(self, vacuum_thrust=tuple(factor * thrust for thrust in self.vacuum_thrust))


Propulsion = Engine | SolidMotor
"""What a stage or a booster may carry."""


def _at_most_one(owner: str, inputs: dict[str, float | None]) -> None:
    given = {name: value for name, value in inputs.items() if value is not None}
    if len(given) > 1:
        shown = " and ".join(f"{name} = {value!r}" for name, value in given.items())
        raise InputError(
            f"{owner}: {shown} are both given; each of them alone sets the loss to back-pressure, "
            "so at most one may be. Keep the one you trust most."
        )


def _check_back_pressure(
    owner: str, vacuum_isp: float, sea_level_isp: float | None, exit_area: float | None
) -> None:
    if exit_area is not None:
        not_negative(owner, "exit_area", exit_area, "m^2", _AREA_FIX)
    if sea_level_isp is not None:
        fix = "Give the specific impulse at 101325 Pa in seconds, or leave it out."
        positive(owner, "sea_level_isp", sea_level_isp, "s", fix)
        if sea_level_isp > SPECIFIC_IMPULSE.most:
            fix = SPECIFIC_IMPULSE.if_high(sea_level_isp)
        rule = f"at most vacuum_isp ({vacuum_isp!r} s)"
        good = sea_level_isp <= vacuum_isp
        require(owner, "sea_level_isp", sea_level_isp, "s", rule, fix, holds=good)


def _exit_area(
    thrust: float, vacuum_isp: float, sea_level_isp: float | None, exit_area: float | None
) -> float:
    if sea_level_isp is not None:
        return thrust * (1.0 - sea_level_isp / vacuum_isp) / SEA_LEVEL_PRESSURE
    return exit_area if exit_area is not None else 0.0
