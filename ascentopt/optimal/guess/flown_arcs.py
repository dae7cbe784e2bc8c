"""A flown guess, arc by arc, as a start for the solver."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import asin, atan2, hypot, sqrt

import numpy as np

from ascentopt.collocation import ArcGuess, Guess
from ascentopt.collocation.mesh.radau import Array
from ascentopt.flight.dynamics.state import MASS
from ascentopt.flight.phases.arc_kind import NUMBERS, Guidance
from ascentopt.flight.phases.sequence import FlightArc, Sequence
from ascentopt.mission import Mission
from ascentopt.optimal.guess.pitch_family import PitchFamily, fly_arc_at
from ascentopt.optimal.problem.linkage import VIRTUAL
from ascentopt.optimal.problem.target.ellipse import orbit_start
from ascentopt.world.orbital_elements import inverse_semi_major_axis

STEPS_AN_ARC, COAST_STEPS = 16, 48
"""In which an arc of a guess is flown, and a coast to a far end: 15 to a radian of its phase."""

PLACES = 1000
"""Of the eccentric anomaly, between which a coast's phase is a straight line."""


@dataclass(frozen=True, eq=False)
class FlownArc:
    """One arc of a flown guess: times (k,), states (k, 7), thrust directions (k, 3)."""

    arc: FlightArc
    times: Array
    states: Array
    directions: Array

    def after(self) -> Array:
        """(7,) state after the joint that ends it."""
        state = self.states[-1].copy()
        state[MASS] = self.arc.joint.mass(float(state[MASS]))
        return np.asarray(state)


def fly_at_pitch(
    arc: FlightArc,
    state: Array,
    start: float,
    length: float,
    steps: int,
    *,
    pitch: float = 0.0,
    normal: Array | None = None,
) -> FlownArc:
    """An arc of ``length`` s flown from a (7,) state, thrust at one pitch above the local level.

    In the plane of the motion, unless a (3,) ``normal`` says in which. The steps of a coast are
    equal in its phase, and it is flown without drag: in thin air, half a revolution of it may end
    in the ground, and a fall through the centre of the body leads nowhere.
    """
    across = np.cross(state[:3], state[3:6]) if normal is None else normal
    plane = across / np.linalg.norm(across)
    steady = PitchFamily(np.array([1.0]), np.array([pitch]), plane, start - 2.0, start - 1.0)
    mu = arc.kind.body.gravitational_parameter
    even = np.linspace(0.0, 1.0, steps + 1)
    fractions = even if arc.burning else even_in_phase(mu, state, length, steps)
    track = fly_arc_at(
        arc if arc.burning else _without_drag(arc),
        steady,
        start + length * fractions,
        state[: MASS + 1, None],
    )
    return FlownArc(arc, track.times, track.states[:, :, 0], track.directions(0))


def even_in_phase(mu: float, state: Array, seconds: float, count: int) -> Array:
    """(count + 1,) fractions of a coast of ``seconds`` from a (7,) state, equal in its phase.

    The motion at a radius r changes within sqrt(r^3/mu): half a revolution up to twelve radii
    passes the periapsis in a hundredth of its time, and the first of equal steps would take it half
    way round. The phase is the integral of dt sqrt(mu/r^3) = dE / sqrt(1 - e cos E), E the
    eccentric anomaly. Equal in time where the orbit is open.
    """
    radius = float(np.linalg.norm(state[:3]))
    inverse = inverse_semi_major_axis(mu, radius, float(state[3:6] @ state[3:6]))
    if inverse <= 0.0:
        return np.linspace(0.0, 1.0, count + 1)
    rate = inverse * sqrt(mu * inverse)
    cosine, sine = 1.0 - radius * inverse, float(state[:3] @ state[3:6]) * sqrt(inverse / mu)
    shape, start = hypot(cosine, sine), atan2(sine, cosine)
    # Mean and eccentric anomaly differ by e sin E: so far on, the end has been passed.
    places = start + np.linspace(0.0, rate * seconds + 2.0 * shape, PLACES + 1)
    times = (places - shape * np.sin(places) - (start - sine)) / rate
    speeds = 1.0 / np.sqrt(np.maximum(1.0 - shape * np.cos(places), 1e-9))
    steps = 0.5 * (speeds[1:] + speeds[:-1]) * np.diff(places)
    phases = np.concatenate(([0.0], np.cumsum(steps)))
    wanted = np.linspace(0.0, float(np.interp(seconds, times, phases)), count + 1)
    fractions = np.interp(wanted, phases, times) / seconds
    fractions[0], fractions[-1] = 0.0, 1.0
    return np.asarray(fractions)


def fly_pushed(
    arc: FlightArc,
    state: Array,
    start: float,
    length: float,
    steps: int,
    push: tuple[Array, Array],
) -> FlownArc:
    """As `fly_at_pitch`, with the pitch and in the plane of an impulse: (3,) its place and change.

    Where a path is met on its way down the change is upwards, too: who pushes along the ground
    alone arrives as fast as he falls.
    """
    place, change = push
    size = float(np.linalg.norm(place) * np.linalg.norm(change))
    pitch = asin(min(max(float(place @ change) / size, -1.0), 1.0))
    normal = np.cross(place, change)
    return fly_at_pitch(arc, state, start, length, steps, pitch=pitch, normal=normal)


def _without_drag(arc: FlightArc) -> FlightArc:
    named = zip(NUMBERS, arc.numbers, strict=False)
    return replace(arc, numbers=tuple(0.0 if n == "reference_area" else x for n, x in named))


def as_guess(flown: tuple[FlownArc, ...], mission: Mission) -> Guess:
    """The flight as a start for the solver, with the place on the orbit that it ends nearest to."""
    instants = [flown[0].times[0], *(arc.times[-1] for arc in flown)]
    arcs = tuple(arc_guess(arc) for arc in flown)
    return Guess(np.array(instants), arcs, free_numbers(mission, flown[-1].states[-1]))


def free_numbers(mission: Mission, state: Array) -> Array:
    """The problem's free numbers of a flight that ends in a state (7,), or near the orbit there."""
    return np.concatenate((np.zeros(VIRTUAL), orbit_start(mission, state[:MASS])))


def arc_guess(flown: FlownArc) -> ArcGuess:
    """One arc of the flight, steered and throttled as its kind is."""
    span = flown.times[-1] - flown.times[0]
    fractions = (flown.times - flown.times[0]) / span
    kind, states = flown.arc.kind, flown.states
    steered = kind.guidance is Guidance.STEERED
    controls = [flown.directions] if steered else []
    if kind.direction_is_state:
        turn = np.gradient(flown.directions, flown.times, axis=0)
        states, controls = np.hstack((states, flown.directions)), [turn]
    if kind.throttled:
        controls.append(np.ones((len(fractions), 1)))
    nothing = np.zeros((len(fractions), 0))
    return ArcGuess(fractions, states, np.hstack([nothing, *controls]))


def cut_at_drop(flown: tuple[FlownArc, ...], sequence: Sequence, at: float) -> tuple[FlownArc, ...]:
    """The same flight on a sequence in which the burn flown at time ``at`` is cut in two."""
    edge = np.searchsorted([one.times[-1] for one in flown], at, side="left")
    chosen = min(int(edge), len(flown) - 1)
    one = flown[chosen]
    if len(sequence.arcs) == len(flown):  # a coast, which drops the fairing at its end
        return _on_sequence(flown, sequence)
    span = one.times[-1] - one.times[0]
    inside = float(np.clip(at, one.times[0] + 0.01 * span, one.times[-1] - 0.01 * span))
    halves = (
        part_between(one, float(one.times[0]), inside),
        part_between(one, inside, float(one.times[-1])),
    )
    pieces = (*flown[:chosen], *halves, *flown[chosen + 1 :])
    return _on_sequence(pieces, sequence)


def _on_sequence(flown: tuple[FlownArc, ...], sequence: Sequence) -> tuple[FlownArc, ...]:
    pairs = zip(sequence.arcs, flown, strict=True)
    return tuple(FlownArc(arc, p.times, p.states, p.directions) for arc, p in pairs)


def part_between(flown: FlownArc, start: float, end: float) -> FlownArc:
    """The part of an arc between two times."""
    times = np.array(sorted({start, end, *np.clip(flown.times, start, end).tolist()}))
    columns = np.hstack((flown.states, flown.directions)).T
    values = np.stack([np.interp(times, flown.times, column) for column in columns], axis=1)
    return FlownArc(flown.arc, times, values[:, :7], values[:, 7:])
