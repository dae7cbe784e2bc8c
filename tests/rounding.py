"""Another processor, emulated: `pytest --rounding 7` moves what rounding would move.

The same release of a solver gives other last digits on another processor, since its linear algebra
picks other instructions there. What hangs on these digits hangs on chance. So every vector that
IPOPT starts from is moved by a part in 1e12, and every vehicle, where its optimisation begins, by a
part in 1e10: more than rounding does, and far less than any answer may notice. Both are drawn from
the seed and from what is moved, not from the order of the tests: a test alone fails as it does
among the others.

Only the vehicle's numbers are moved, not the mission's: they enter every equation of motion, and a
mission's may stand on an edge that its words put there (an inclination that is the latitude).
"""

from __future__ import annotations

import json
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from typing import Any, TypeVar
from zlib import crc32

import numpy as np
import pytest

from ascentopt.collocation.mesh.radau import Array
from ascentopt.collocation.solution import Raw
from ascentopt.collocation.solver import solver
from ascentopt.optimal import optimize
from ascentopt.persistence import encode
from ascentopt.rocket import BoosterGroup, SolidMotor, Stage, Vehicle
from ascentopt.rocket.engine import Propulsion

START = 1e-12
"""Part by which a start is moved, of each scaled variable's size or of one."""

INPUT = 1e-10
"""Part by which the numbers of a vehicle are moved."""

Part = TypeVar("Part", Stage, BoosterGroup)


@dataclass(frozen=True)
class Rounding:
    """One other processor; each `seed` is another one."""

    seed: int

    def start(self, raw: Raw) -> Raw:
        """The same start, moved: a multiplier of zero says that nothing is known, and stays."""
        draw = self._draw(raw.x.tobytes() + raw.lam_g.tobytes() + raw.lam_x.tobytes())
        x = raw.x + _shares(draw, raw.x) * START * np.maximum(np.abs(raw.x), 1.0)
        lam_g = raw.lam_g * (1.0 + START * _shares(draw, raw.lam_g))
        lam_x = raw.lam_x * (1.0 + START * _shares(draw, raw.lam_x))
        return replace(raw, x=x, lam_g=lam_g, lam_x=lam_x)

    def vehicle(self, vehicle: Vehicle) -> Vehicle:
        """The same vehicle, its masses, thrusts and specific impulses moved."""
        draw = self._draw(json.dumps(encode(vehicle)).encode())
        fairing = vehicle.fairing
        return replace(
            vehicle,
            payload_mass=vehicle.payload_mass * _factor(draw),
            stages=tuple(_part(draw, stage) for stage in vehicle.stages),
            boosters=tuple(_part(draw, group) for group in vehicle.boosters),
            fairing=fairing and replace(fairing, mass=fairing.mass * _factor(draw)),
        )

    def _draw(self, what: bytes) -> np.random.Generator:
        return np.random.default_rng((self.seed, crc32(what)))


def _shares(draw: np.random.Generator, like: Array) -> Array:
    return draw.uniform(-1.0, 1.0, like.shape)


def _factor(draw: np.random.Generator) -> float:
    return 1.0 + INPUT * float(draw.uniform(-1.0, 1.0))


def _part(draw: np.random.Generator, part: Part) -> Part:
    propellant = part.propellant_mass * _factor(draw)
    return replace(
        part,
        propellant_mass=propellant,
        dry_mass=part.dry_mass * _factor(draw),
        engine=_engine(draw, part.engine, propellant),
    )


def _engine(draw: np.random.Generator, engine: Propulsion, propellant_mass: float) -> Propulsion:
    """Moved such that no sea-level value passes the vacuum's, and a motor burns what it holds."""
    push, speed = _factor(draw), _factor(draw)
    isp, sea_level = engine.vacuum_isp * speed, _times(engine.sea_level_isp, speed)
    if isinstance(engine, SolidMotor):
        motor = replace(engine, vacuum_isp=isp, sea_level_isp=sea_level)
        return motor.scaled_to(propellant_mass)
    return replace(
        engine,
        vacuum_thrust=engine.vacuum_thrust * push,
        vacuum_isp=isp,
        sea_level_isp=sea_level,
        sea_level_thrust=_times(engine.sea_level_thrust, push),
    )


def _times(value: float | None, factor: float) -> float | None:
    return None if value is None else value * factor


@contextmanager
def applied(rounding: Rounding) -> Iterator[None]:
    """Every start and every vehicle is moved while this lasts."""
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(solver, "_run", _moved_start(rounding, solver._run))
        patch.setattr(optimize, "task_of", _moved_vehicle(rounding, optimize.task_of))
        yield


def _moved_start(rounding: Rounding, run: Callable[..., Any]) -> Callable[..., Any]:
    def moved(function: Any, bounds: Any, start: Raw) -> Any:
        return run(function, bounds, rounding.start(start))

    return moved


def _moved_vehicle(rounding: Rounding, begin: Callable[..., Any]) -> Callable[..., Any]:
    def moved(vehicle: Vehicle, *others: Any, **named: Any) -> Any:
        return begin(rounding.vehicle(vehicle), *others, **named)

    return moved
