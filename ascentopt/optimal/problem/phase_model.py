"""Arcs of flight as models of the collocation engine."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache, partial
from math import sqrt

import casadi as ca
import numpy as np

from ascentopt.collocation import Guess, Model, Point, Quantity, Solution
from ascentopt.flight.dynamics.elements import Elements
from ascentopt.flight.dynamics.forces import Forces, Instant, forces
from ascentopt.flight.dynamics.state import MASS, motion
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import Sequence
from ascentopt.optimal.problem.path_limits import PathLimit
from ascentopt.typing import Expr
from ascentopt.world.gravity import oblateness, surface_time_scale

_MOTION = (
    *(Quantity(f"position {axis}", "m") for axis in "xyz"),
    *(Quantity(f"velocity {axis}", "m/s") for axis in "xyz"),
    Quantity("mass", "kg"),
)
_DIRECTION = tuple(Quantity(f"thrust direction {axis}") for axis in "xyz")
_TURN = tuple(Quantity(f"turn rate {axis}", "rad/s", 0.01) for axis in "xyz")

EXCESS = Quantity("log excess of loads")
"""Logarithm of the factor on all limits on loads: a free number of the problem."""

Varied = tuple[tuple[int, str], ...]
"""Places of numbers of an arc's kind, each with the name of a free number that it grows with."""

NEARNESS = Quantity("semilatus rectum over radius")
"""At least `LEAST_NEARNESS`."""

LONG = 1.0
"""Of sqrt(R^3/mu), 806 s on the Earth: the radians that a coast takes at the surface. Over a
shorter one Cartesian coordinates are nearly straight, and a steep flight has no orbit worth the
name. A burn is long by sqrt(r^3/mu) where it begins. Through a shorter one the elements of a long
ellipse are bent: at its far end p goes from (1 - e) r to r, at a rate as p^1.5 over it."""


def arcs_worth_elements(sequence: Sequence, guess: Guess) -> tuple[int, ...]:
    """Coasts from the first long one of a guess on, and the long burns between and after them."""
    body, lengths = sequence.arcs[0].kind.body, np.diff(guess.instants)
    coasts = [not arc.burning for arc in sequence.arcs]
    long = [one and own > LONG * surface_time_scale(body)
            for one, own in zip(coasts, lengths, strict=True)]  # fmt: skip
    if not any(long):
        return ()
    radii = [float(np.linalg.norm(own.states[0, :3])) for own in guess.arcs]
    times = [LONG * sqrt(r**3 / body.gravitational_parameter) for r in radii]
    rest = range(long.index(True), len(coasts))
    return tuple(k for k in rest if coasts[k] or lengths[k] > times[k])


def arcs_in_elements(solution: Solution) -> tuple[int, ...]:
    """The arcs that were solved in elements."""
    arcs = enumerate(solution.problem.arcs)
    return tuple(k for k, arc in arcs if arc.model.coordinates is not None)


@lru_cache(maxsize=128)
def arc_model(
    kind: ArcKind,
    limits: tuple[PathLimit, ...],
    *,
    elastic: bool = False,
    coordinates: Elements | None = None,
    varied: Varied = (),
) -> Model:
    """The model of an arc; the same object for the same arguments, so that programs are reused.

    Where it is ``elastic`` the limits on loads are multiplied by the exponential of `EXCESS`. What
    is ``varied`` are numbers that grow with free numbers of the problem: a slope of each follows
    the kind's own numbers, in the arc's parameters.
    """
    seen = partial(_seen, kind, varied)
    return Model(
        name=kind.guidance.name.lower(),
        states=_MOTION + (_DIRECTION if kind.direction_is_state else ()),
        controls=_controls(kind),
        rates=lambda point: _rates(kind, seen(point), coordinates),
        path=tuple(limit.quantity for limit in limits) + (NEARNESS,) * (coordinates is not None),
        path_values=lambda point: [
            *_path(kind, limits, seen(point), elastic=elastic),
            *(() if coordinates is None else (coordinates.nearness(point.coordinates),)),
        ],
        parameters=(*kind.numbers, *(f"{kind.numbers[k]} per {name}" for k, name in varied)),
        free=(*_free_numbers(varied), *((EXCESS.name,) if elastic else ())),
        may_jump=(len(_controls(kind)) - 1,) if kind.throttled else (),
        coordinates=coordinates,
        nodes_only=tuple(k for k, limit in enumerate(limits) if limit.nodes_only),
    )


def _free_numbers(varied: Varied) -> tuple[str, ...]:
    """Those that numbers grow with, each once."""
    return tuple(dict.fromkeys(name for _, name in varied))


def _seen(kind: ArcKind, varied: Varied, point: Point) -> Point:
    """The point with the numbers as the free numbers make them."""
    if not varied:
        return point
    own, names = len(kind.numbers), _free_numbers(varied)
    numbers = [point.parameter[k] for k in range(own)]
    for slope, (k, name) in enumerate(varied, start=own):
        numbers[k] += point.parameter[slope] * point.free[names.index(name)]
    return replace(point, parameter=ca.vertcat(*numbers), free=point.free[len(names) :])


def _path(
    kind: ArcKind, limits: tuple[PathLimit, ...], point: Point, *, elastic: bool
) -> list[Expr]:
    if not limits:
        return []
    now = forces_at(kind, point)
    if not elastic:
        return [limit.value(now) for limit in limits]
    return [limit.elastic_value(now, ca.exp(point.free)) for limit in limits]


def _controls(kind: ArcKind) -> tuple[Quantity, ...]:
    steering = _TURN if kind.direction_is_state else _DIRECTION
    steered = steering if kind.guidance is Guidance.STEERED else ()
    return steered + ((Quantity("throttle"),) if kind.throttled else ())


def forces_at(kind: ArcKind, point: Point) -> Forces:
    """Forces at a point of a collocation model."""
    direction = turn = ca.SX.zeros(3)
    if kind.direction_is_state:
        direction, turn = point.state[7:10], point.control[:3]
    elif kind.guidance is Guidance.STEERED:
        direction = point.control[:3]
    instant = Instant(
        time=point.time,
        elapsed=point.elapsed,
        position=point.state[:3],
        velocity=point.state[3:6],
        mass=point.state[MASS],
        direction=direction,
        throttle=point.control[-1] if kind.throttled else 1.0,
        numbers=point.parameter,
        turn=turn,
    )
    return forces(kind, instant)


def unpowered(kind: ArcKind, state: Expr) -> Forces:
    """Forces at a state for what depends on nothing else: altitude, air, heating."""
    nothing = ca.SX.zeros(len(kind.numbers))
    return forces_at(kind, Point(0.0, 0.0, state, ca.SX.zeros(4), nothing))


def _rates(kind: ArcKind, point: Point, coordinates: Elements | None) -> Expr:
    now = forces_at(kind, point)
    moved = motion(now)
    if coordinates is not None:
        moved = ca.vertcat(
            coordinates.rates(point.coordinates, now.push + oblateness(kind.body, point.state[:3])),
            moved[MASS:],
        )
    turn = (now.instant.turn,) if kind.direction_is_state else ()
    return ca.vertcat(moved, *turn)
