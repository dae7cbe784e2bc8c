"""A second way: look for a flight among thousands of steered ones, without the optimiser."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import log, pi, sqrt

import numpy as np

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.units import deg, km
from benchmarks.survey.flights import Flights, Steering
from benchmarks.survey.outcome import NotSearchedError, Sighting
from benchmarks.survey.surroundings import Floats
from benchmarks.survey.timeline import may_hold

MARGIN = 15.0
"""m/s to spare before a flight counts as found: steps and impulses are not exact."""

# The best flight is flown once more in finer steps under the same commands, and that counts.
_SURE_SUBSTEPS = 6

_WEIGHT, _CROSSOVER = 0.6, 0.8  # of differential evolution: Storn and Price, J. Glob. Opt. 11, 1997
_PARAMETERS = 6


@dataclass(frozen=True, kw_only=True)
class Effort:
    """How many flights at a time, and how many times; the seed of their choice."""

    population: int = 160
    generations: int = 40
    seed: int = 1


@dataclass(frozen=True, kw_only=True)
class Found:
    """The best of the flights tried: the speed to spare in m/s (negative = missing), and how."""

    spare: float
    steering: Steering


def search(vehicle: Vehicle, mission: Mission) -> Sighting:
    """The best flight that an effort as by default finds.

    Raises:
        NotSearchedError: when the flights cannot meet or measure a condition of the mission.
    """
    found = best_flight(vehicle, mission, Effort())
    s = found.steering
    description = (
        f"kick {s.kick[0] / deg:.2f} deg, turn left at {s.leave[0] / km:.1f} km, tangent "
        f"{s.tangent[0]:.3f} falling by {s.fall[0]:.3f} (bend {s.bend[0]:.3f}), "
        f"coast {s.coast[0]:.0f} s: {found.spare:.0f} m/s to spare"
    )
    arrives = found.spare >= MARGIN
    return Sighting(arrives=arrives, spare=found.spare, description=description)


def best_flight(vehicle: Vehicle, mission: Mission, effort: Effort) -> Found:
    """The best flight of a differential evolution."""
    covered(vehicle, mission)
    flights = Flights(vehicle, mission)
    random = np.random.default_rng(effort.seed)
    points = random.random((effort.population, _PARAMETERS))
    values = flights.spare(_steering(points, mission))
    for _ in range(effort.generations):
        trials = _trials(random, points, points[np.argmax(values)])
        results = flights.spare(_steering(trials, mission))
        better = results > values
        points[better], values[better] = trials[better], results[better]
    best = int(np.argmax(values))
    steering = _steering(points[best : best + 1], mission)
    sure = replace(flights, substeps=_SURE_SUBSTEPS).spare(steering)
    return Found(spare=float(sure[0]), steering=steering)


def covered(vehicle: Vehicle, mission: Mission) -> None:
    """Whether the flights can hold and meet what the mission asks.

    Raises:
        NotSearchedError: with what they cannot.
    """
    limits = mission.limits
    if limits.pitch_rate is not None:
        raise NotSearchedError("the search turns at once and cannot hold a limit on the pitch rate")
    if limits.axial_acceleration is not None and not may_hold(vehicle, limits.axial_acceleration):
        raise NotSearchedError("the engines cannot throttle as this limit on acceleration asks")
    if mission.orbit.ascending_node is not None:
        raise NotSearchedError("the search cannot aim at a node")


def _trials(random: np.random.Generator, points: Floats, best: Floats) -> Floats:
    """Half the mutants start from a random member, half from the best; walls reflect."""
    n = len(points)
    a, b, c = (points[random.permutation(n)] for _ in range(3))
    base = np.where((np.arange(n) % 2 == 0)[:, None], a, best)
    mutants = base + _WEIGHT * (b - c)
    mutants = 1.0 - np.abs(1.0 - np.abs(mutants) % 2.0)
    taken = random.random(points.shape) < _CROSSOVER
    trials: Floats = np.where(taken, mutants, points)
    return trials


def _steering(points: Floats, mission: Mission) -> Steering:
    """From the unit cube to steering numbers."""
    air = mission.body.atmosphere
    kick, leave, tangent, fall, bend, coast = points.T
    half_turn = pi * sqrt(mission.body.radius**3 / mission.body.gravitational_parameter)
    return Steering(
        kick=np.exp(log(5e-3) + kick * (log(40.0) - log(5e-3))) * deg,
        leave=np.zeros(len(points)) if air is None else (0.1 + 0.8 * leave) * air.ceiling,
        tangent=-0.3 + 3.3 * tangent**2,
        fall=-0.5 + 3.5 * fall,
        bend=1.2 * (bend - 0.5),
        # Half of the cube has no coast at all, the rest up to somewhat more than half a turn.
        coast=np.where(coast < 0.5, 0.0, np.exp((2.0 * coast - 1.0) * log(1.3 * half_turn)) - 1.0),
    )
