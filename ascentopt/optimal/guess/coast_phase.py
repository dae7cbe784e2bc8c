"""How a coast goes on, by a clock that runs with the orbit: fast near the centre, slow far out.

The motion at a radius r changes within sqrt(r^3/mu). Half a revolution up to twelve radii passes
the periapsis in a hundredth of its time: on a mesh of eight equal intervals, or in 48 equal steps
of a guess, the first one takes it half way round, and what is solved is no orbit.
"""

from __future__ import annotations

from math import atan2, hypot, sqrt

import numpy as np

from ascentopt.collocation.mesh.radau import Array
from ascentopt.world.orbital_elements import inverse_semi_major_axis

PLACES = 1000
"""Of the eccentric anomaly between which the phase is a straight line."""


def even_in_phase(mu: float, state: Array, seconds: float, count: int) -> Array:
    """(count + 1,) fractions of a coast of ``seconds`` from a (7,) state, equal in its phase.

    That is the integral of dt sqrt(mu/r^3) = dE / sqrt(1 - e cos E), E the eccentric anomaly. Equal
    in time where the orbit is open.
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
