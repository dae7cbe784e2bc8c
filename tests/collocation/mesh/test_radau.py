"""The Radau IIA scheme and the interpolation on its meshes.

Closed forms: E. Hairer, G. Wanner, *Solving Ordinary Differential Equations II*, 2nd ed., sec.
IV.5, tables 5.5 and 5.6.
"""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from ascentopt.collocation import RadauMesh
from ascentopt.collocation.mesh.mesh import LARGEST_DEGREE
from ascentopt.collocation.mesh.radau import (
    barycentric_weights,
    derivative_matrix,
    interpolation_matrix,
    radau,
)

ROOT = np.sqrt(6.0)
CLOSED_FORMS = {
    1: ([1.0], [1.0]),
    2: ([1.0 / 3.0, 1.0], [0.75, 0.25]),
    3: (
        [(4.0 - ROOT) / 10.0, (4.0 + ROOT) / 10.0, 1.0],
        [(16.0 - ROOT) / 36.0, (16.0 + ROOT) / 36.0, 1.0 / 9.0],
    ),
}
DEGREES = range(1, 13)


@pytest.mark.parametrize("degree", CLOSED_FORMS)
def test_points_and_weights_are_the_closed_forms(degree: int) -> None:
    points, weights = CLOSED_FORMS[degree]
    assert radau(degree).points == pytest.approx(points, abs=1e-15)
    assert radau(degree).weights == pytest.approx(weights, abs=1e-15)


def test_hairer_wanner_table_5_5_coefficients_follow_from_the_derivative_matrix() -> None:
    # Radau IIA of order 3: A = [[5/12, -1/12], [3/4, 1/4]] is the inverse of the slopes of the
    # interior columns.
    coefficients = np.linalg.inv(radau(2).derivative[:, 1:])
    assert coefficients == pytest.approx(np.array([[5 / 12, -1 / 12], [3 / 4, 1 / 4]]), abs=1e-14)


@pytest.mark.parametrize("degree", DEGREES)
def test_quadrature_is_exact_to_degree_2d_minus_2_and_no_further(degree: int) -> None:
    scheme = radau(degree)
    errors = [
        abs(scheme.weights @ scheme.points**power - 1.0 / (power + 1))
        for power in range(2 * degree)
    ]
    assert max(errors[:-1]) < 1e-13
    # The error constant of x^(2d-1) falls with the degree: 1/2, 1/36, 1/600, 1/9800, ...
    first = {1: 1 / 2, 2: 1 / 36, 3: 1 / 600, 4: 1 / 9800}.get(degree)
    if first is not None:
        assert errors[-1] == pytest.approx(first, rel=1e-9)


@pytest.mark.parametrize("degree", [20, LARGEST_DEGREE])
def test_quadrature_keeps_its_digits_up_to_the_largest_degree(degree: int) -> None:
    scheme = radau(degree)
    assert np.all(scheme.weights > 0.0)
    for power in (0, degree, 2 * degree - 2):
        assert scheme.weights @ scheme.points**power == pytest.approx(1.0 / (power + 1), abs=1e-12)


@pytest.mark.parametrize("degree", DEGREES)
def test_derivative_is_exact_for_polynomials_of_the_degree(degree: int) -> None:
    scheme = radau(degree)
    for power in range(1, degree + 1):
        slopes = scheme.derivative @ scheme.support**power
        assert slopes == pytest.approx(power * scheme.points ** (power - 1), abs=1e-10)
    assert scheme.derivative @ np.ones(degree + 1) == pytest.approx(np.zeros(degree), abs=1e-11)


def test_derivative_matrix_of_three_equidistant_points() -> None:
    # Textbook parabola formulas: (-3, 4, -1)/2h, (-1, 0, 1)/2h, (1, -4, 3)/2h with h = 1/2.
    expected = np.array([[-3.0, 4.0, -1.0], [-1.0, 0.0, 1.0], [1.0, -4.0, 3.0]])
    assert derivative_matrix(np.array([0.0, 0.5, 1.0])) == pytest.approx(expected, abs=1e-14)


@given(
    degree=st.integers(1, 12),
    at=st.lists(st.floats(0.0, 1.0), min_size=1, max_size=5),
    power=st.integers(0, 12),
)
def test_interpolation_reproduces_polynomials(degree: int, at: list[float], power: int) -> None:
    support = radau(degree).support
    power = min(power, degree)
    matrix = interpolation_matrix(support, barycentric_weights(support), np.array(at))
    assert matrix @ support**power == pytest.approx(np.array(at) ** power, abs=1e-12)


@pytest.mark.parametrize("degree", DEGREES)
def test_interpolation_at_a_support_point_takes_its_value(degree: int) -> None:
    support = radau(degree).support
    same = interpolation_matrix(support, barycentric_weights(support), support)
    assert np.array_equal(same, np.eye(degree + 1))


MESH = RadauMesh(breaks=(0.0, 0.2, 0.7, 1.0), degrees=(3, 1, 4))


def test_mesh_lists_its_nodes_interval_by_interval() -> None:
    assert MESH.nodes == 8
    assert MESH.starts() == [0, 3, 4, 8]
    assert MESH.fractions()[[2, 3, 7]] == pytest.approx([0.2, 0.7, 1.0], abs=1e-15)
    assert np.all(np.diff(MESH.fractions()) > 0.0)
    assert MESH.node_widths() == pytest.approx([0.2] * 3 + [0.5] + [0.3] * 4)
    assert MESH.weights().sum() == pytest.approx(1.0, abs=1e-14)


def test_mesh_quadrature_integrates_over_the_whole_arc() -> None:
    mesh = RadauMesh(breaks=(0.0, 0.2, 0.7, 1.0), degrees=(3, 2, 4))
    assert mesh.weights() @ mesh.fractions() ** 2 == pytest.approx(1.0 / 3.0, abs=1e-14)


def test_mesh_interpolates_and_differentiates_a_broken_line_exactly() -> None:
    # The middle interval has degree 1, so a function with kinks at the breaks is exact there.
    def line(x: np.ndarray) -> np.ndarray:
        return np.asarray(np.interp(x, [0.0, 0.2, 0.7, 1.0], [0.0, 1.0, -1.0, 2.0]))

    at = np.array([0.0, 0.1, 0.2, 0.3, 0.69, 0.9, 1.0])
    values = line(np.array([0.0, *MESH.fractions()]))[:, None]
    assert MESH.states_at(at, values)[:, 0] == pytest.approx(line(at), abs=1e-13)
    slopes = [5.0, 5.0, -4.0, -4.0, -4.0, 10.0, 10.0]
    assert MESH.slopes_at(at, values)[:, 0] == pytest.approx(slopes, abs=1e-11)


def test_controls_are_polynomials_through_the_collocation_points_alone() -> None:
    mesh = RadauMesh(breaks=(0.0, 0.5, 1.0), degrees=(3, 3))
    at = np.array([0.0, 0.2, 0.6, 1.0])
    values = mesh.fractions()[:, None] ** 2
    assert mesh.controls_at(at, values)[:, 0] == pytest.approx(at**2, abs=1e-13)


def test_a_break_belongs_to_the_interval_on_its_right() -> None:
    assert MESH.locate(np.array([0.0, 0.2, 0.7, 1.0])).tolist() == [0, 1, 2, 2]


@given(st.lists(st.floats(1e-6, 1.0, exclude_max=True), max_size=6, unique=True))
def test_the_last_node_of_every_mesh_is_the_end_to_the_last_bit(inner: list[float]) -> None:
    breaks = (0.0, *sorted(inner), 1.0)
    mesh = RadauMesh(breaks=breaks, degrees=(2,) * (len(breaks) - 1))
    assert mesh.fractions()[-1] == 1.0
