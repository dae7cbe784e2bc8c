"""A stage in orbit: what is there after the insertion, whoever brought it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from ascentopt.arguments import checked
from ascentopt.errors import InputError
from ascentopt.rocket import Aerodynamics, Stage
from ascentopt.tables import in_a_line
from ascentopt.typing import Floats
from ascentopt.validation import (
    counting,
    finite,
    instance,
    named,
    not_negative,
    numbers,
    positive,
    require,
)
from ascentopt.world import Body
from ascentopt.world.orbital_elements import OrbitalElements, elements

# A burn whose clock comes from a program may overdraw the tank by rounding: fraction of the mass.
_ROUNDING = 1e-6


@checked
@dataclass(frozen=True, kw_only=True)
class OrbitingStage:
    """A stage in orbit with what it carries.

    `position` (m) and `velocity` (m/s) are inertial, z along the spin axis of `body`; `mass` kg is
    that of everything, `payload_mass` kg of what stands on the stage; what is more than that and
    the dry mass of `stage` is propellant. `restarts` says how often it can still be lit; `time` s
    is the clock since lift-off, and `lift_off_time` s is that of `Mission`, which says how far the
    body had turned then. `aerodynamics` are for the last of the air; None = no force. Raises
    `InputError`.
    """

    name: str
    body: Body
    stage: Stage
    position: Sequence[float]
    velocity: Sequence[float]
    mass: float
    payload_mass: float
    restarts: int
    aerodynamics: Aerodynamics | None = None
    time: float = 0.0
    lift_off_time: float = 0.0

    __repr__ = in_a_line

    def __post_init__(self) -> None:
        named("OrbitingStage", self.name, "Give it a name.")
        owner = f"OrbitingStage {self.name!r}"
        instance(owner, "body", self.body, (Body,), "Give a Body, for instance earth().")
        instance(owner, "stage", self.stage, (Stage,), "Give a Stage.")
        kinds = (Aerodynamics, type(None))
        instance(owner, "aerodynamics", self.aerodynamics, kinds, "Give Aerodynamics or None.")
        for name, unit in (("position", "m"), ("velocity", "m/s")):
            self._keep(owner, name, unit)
        counting(owner, "restarts", self.restarts, 0, "Say how often it can still be lit.")
        finite(owner, "time", self.time, "s", "Give the seconds since lift-off.")
        fix = "Give the seconds that the mission has."
        finite(owner, "lift_off_time", self.lift_off_time, "s", fix)
        self._check_masses(owner)

    def _keep(self, owner: str, name: str, unit: str) -> None:
        fix = f"Give three numbers in {unit}."
        values = numbers(owner, name, getattr(self, name), unit, fix)
        if len(values) != 3:
            raise InputError(f"{owner}: {name} has {len(values)} values; it must have 3. {fix}")
        object.__setattr__(self, name, values)

    def _check_masses(self, owner: str) -> None:
        fix = "Give what stands on the stage in kilograms."
        not_negative(owner, "payload_mass", self.payload_mass, "kg", fix)
        fix = "Give the mass of everything in kilograms."
        positive(owner, "mass", self.mass, "kg", fix)
        slack, full = _ROUNDING * self.mass, self.empty_mass + self.stage.propellant_mass
        good = self.empty_mass - slack <= self.mass <= full + slack
        rule = (
            f"between {self.empty_mass:.6g} and {full:.6g} kg, stage and payload with an empty and "
            "a full tank"
        )
        require(owner, "mass", self.mass, "kg", rule, fix, holds=good)

    @property
    def empty_mass(self) -> float:
        """Stage and payload without propellant, kg."""
        return self.stage.dry_mass + self.payload_mass

    @property
    def propellant(self) -> float:
        """Propellant in the tank, kg."""
        return max(self.mass - self.empty_mass, 0.0)

    @property
    def state(self) -> Floats:
        """(7,) position, velocity and mass."""
        return np.array([*self.position, *self.velocity, self.mass])

    @property
    def orbit(self) -> OrbitalElements:
        """The osculating orbit. Raises `InputError` for motion straight up or down."""
        return elements(self.body.gravitational_parameter, self.position, self.velocity)
