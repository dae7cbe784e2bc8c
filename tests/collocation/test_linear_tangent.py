"""Steering with constant acceleration: the answer, the law, the costates and the multipliers.

Recomputed from the closed form in `steering.py`, which also gives the costates: with the cost
equal to the time, lambda_v = -k (1, p - q t), lambda_x = 0, lambda_y = -k q, H = -1 and
k = 1/(a sqrt(1 + p^2) - g p).
"""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.collocation import RadauMesh, Solution, SolverSettings, solve
from tests.collocation.steering import COPS, MOON, Steering

TIGHT = SolverSettings(tolerance=1e-12)
MESH = RadauMesh.uniform(intervals=4, degree=8)
CASES = [
    # Measured 3e-15 s and 7e-10 of tan u; ten printed decimals of p and q.
    (COPS, 0.5545708783346, 1.4085083557, 5.0796333191, 1e-13),
    # Measured 1.1e-10 s and 1.4e-9 of tan u.
    (MOON, 481.203872306, 2.754001585, 8.310514163e-3, 5e-10),
]


def solved(case: Steering) -> Solution:
    problem = case.problem(case.model(), MESH)
    return solve(problem, case.guess(problem), TIGHT)


@pytest.mark.parametrize(("case", "time", "p", "q", "tolerance"), CASES)
def test_least_time_and_linear_tangent(
    case: Steering, time: float, p: float, q: float, tolerance: float
) -> None:
    # Sources: COPS 3.0, no. 9 (prints 0.554572 at 400 intervals); Longuski et al., App. A.
    solution = solved(case)
    assert solution.objective == pytest.approx(time, abs=tolerance)
    arc = solution.arcs[0]
    assert np.tan(arc.controls[:, 0]) == pytest.approx(p - q * arc.times[1:], abs=2e-9)


@pytest.mark.parametrize(("case", "time", "p", "q", "tolerance"), CASES)
def test_printed_law_satisfies_the_closed_form(
    case: Steering, time: float, p: float, q: float, tolerance: float
) -> None:
    e = p - q * time
    secants = np.sqrt(1.0 + p * p) - np.sqrt(1.0 + e * e)
    vx = case.acceleration / q * (np.arcsinh(p) - np.arcsinh(e))
    vy = case.acceleration / q * secants - case.gravity * time
    assert vx == pytest.approx(case.speed, rel=1e-8)
    assert vy == pytest.approx(0.0, abs=1e-8 * case.speed)


@pytest.mark.parametrize(("case", "time", "p", "q", "tolerance"), CASES)
def test_costates_are_the_closed_form_in_physical_units(
    case: Steering, time: float, p: float, q: float, tolerance: float
) -> None:
    arc = solved(case).arcs[0]
    k = 1.0 / (case.acceleration * np.sqrt(1.0 + p * p) - case.gravity * p)
    flat = np.zeros_like(arc.times)
    expected = np.stack((flat, flat - k * q, flat - k, -k * (p - q * arc.times)), axis=1)
    sizes = np.abs(expected).max(axis=0) + (np.arange(4) == 0)
    # Measured 1e-9 of the largest value of each; the first node's start included.
    assert arc.costates / sizes == pytest.approx(expected / sizes, abs=1e-8)


@pytest.mark.parametrize("case", [COPS, MOON])
def test_thrust_opposes_the_velocity_costate_where_a_cost_is_minimised(case: Steering) -> None:
    arc = solved(case).arcs[0]
    u = arc.controls[:, 0]
    costate = arc.costates[1:, 2:]
    along = costate[:, 0] * np.cos(u) + costate[:, 1] * np.sin(u)
    across = costate[:, 1] * np.cos(u) - costate[:, 0] * np.sin(u)
    assert np.all(along < 0.0)
    assert np.abs(across / along).max() < 1e-9


@pytest.mark.parametrize("case", [COPS, MOON])
def test_hamiltonian_is_minus_one_where_the_cost_is_the_time(case: Steering) -> None:
    # Off by 4e-9 and 1.6e-7 with 4 x 8; by 4e-11 and 1.5e-10 with twice the intervals.
    problem = case.problem(case.model(), RadauMesh.uniform(intervals=8, degree=8))
    arc = solve(problem, case.guess(problem), TIGHT).arcs[0]
    assert arc.hamiltonian() == pytest.approx(-1.0, abs=1e-9)
