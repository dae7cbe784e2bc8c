"""What the independent flight of an ascent says of the numbers that its certificate names."""

from __future__ import annotations

from collections.abc import Iterator
from math import inf, nan, sin

import numpy as np

from ascentopt.flight.results.flight import Flight
from ascentopt.flight.results.limit_check import peaks
from ascentopt.flight.results.verdict import OrbitMiss
from ascentopt.flight.results.verification import Check
from ascentopt.mission import Mission
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.rocket import Vehicle
from ascentopt.typing import Floats
from ascentopt.world.orbital_elements import eccentricity_vector, elements, inverse_semi_major_axis

_SOLUTION = (
    "residuals, continuous error, primer angle and Hamiltonian, structures and partials come from "
    "the optimiser's solution, which is not kept: solve again"
)
UNCHECKED = (_SOLUTION, "the gain of rules of thumb: compare again")

_STEPS = (*(10.0,) * 3, *(1e-2,) * 3)
"""m and m/s of the differences: large beside rounding, small beside what bends an element."""

_ROOM = 1.1
"""Times what an element may be off to first order: differences and the second order."""

_EXCESS = 1e-3
"""Of a limit, as for limits that are kept."""


def limit_check(
    vehicle: Vehicle, mission: Mission, flight: Flight, certificate: Certificate
) -> Check:
    """The certificate's `limit_excess` beside that of the flight."""
    shares = [one.share for one in peaks(flight, mission.limits, vehicle.max_heating)]
    return Check(
        quantity="certificate, limit excess",
        kept=certificate.limit_excess,
        found=max(shares, default=nan),
        tolerance=_EXCESS,
        unit="of the limit",
    )


def unexplained_misses(mission: Mission, flight: Flight, certificate: Certificate) -> Iterator[str]:
    """Elements that the flight misses by more than the certificate's misses can make of them.

    The certificate says how far the flight ends from a place and a velocity in the orbit, to the
    accuracy of its equations. To first order an element is off by no more than its slopes times
    these.
    """
    body, state = mission.body, flight.final_state[:6]
    size = certificate.primal_residual * np.array([body.radius, np.linalg.norm(state[3:])])
    off = np.array([certificate.position_miss, certificate.velocity_miss]) + size
    slopes = _slopes(body.gravitational_parameter, state)
    verdict = flight.verdict
    for miss in () if verdict is None else verdict.misses:
        most = _ROOM * float(_bound(miss, slopes, state, body.gravitational_parameter) @ off)
        if not abs(miss.miss) <= most + _rounding(miss):
            yield (
                f"the orbit misses {miss}; with the certificate's position miss of "
                f"{certificate.position_miss:.3g} m and velocity miss of "
                f"{certificate.velocity_miss:.3g} m/s it would be {most:.3g} {miss.unit} at most"
            )


def _rounding(miss: OrbitMiss) -> float:
    return {"m": 1e-2}.get(miss.unit, 1e-9)


def _vectors(mu: float, state: Floats) -> Floats:
    """(7,) semi-major axis, eccentricity vector, and direction of the angular momentum."""
    place, velocity = state[:3], state[3:]
    radius, momentum = float(np.linalg.norm(place)), np.cross(place, velocity)
    axis = 1.0 / inverse_semi_major_axis(mu, radius, float(velocity @ velocity))
    shape = eccentricity_vector(mu, place, velocity)
    found: Floats = np.concatenate([[axis], shape, momentum / np.linalg.norm(momentum)])
    return found


def _slopes(mu: float, state: Floats) -> Floats:
    """(3, 2) largest change of axis, eccentricity vector and plane for a m, and for a m/s."""
    columns = []
    for index, step in enumerate(_STEPS):
        moved = np.zeros(6)
        moved[index] = step
        ahead, behind = _vectors(mu, state + moved), _vectors(mu, state - moved)
        columns.append((ahead - behind) / (2.0 * step))
    slopes = np.array(columns).T
    blocks = (slopes[:1], slopes[1:4], slopes[4:])
    return np.array([[np.linalg.norm(b[:, :3], 2), np.linalg.norm(b[:, 3:], 2)] for b in blocks])


def _bound(miss: OrbitMiss, slopes: Floats, state: Floats, mu: float) -> Floats:
    """(2,) by how much an element changes at most for a m, and for a m/s."""
    axis, shape, plane = slopes
    found = elements(mu, state[:3], state[3:])
    size, round_ = abs(found.semi_major_axis), found.eccentricity
    node = plane / sin(found.inclination) if found.inclination else np.full(2, inf)
    slopes_of: dict[str, Floats] = {
        "periapsis": axis * (1.0 - round_) + size * shape,
        "apoapsis": axis * (1.0 + round_) + size * shape,
        "semi-major axis": axis,
        "eccentricity": shape,
        "inclination": plane,
        "ascending node": node,
        "argument of periapsis": shape / max(round_, 1e-12) + node,
    }
    return slopes_of[miss.name]
