"""A solution as a guess for other meshes: it follows the flight between the nodes, too."""

from __future__ import annotations

import numpy as np

from ascentopt.collocation import ArcSolution, solve
from tests.collocation.test_transfer import COARSE, GUESS, RADIUS, problem


def solved() -> ArcSolution:
    return solve(problem(COARSE), GUESS).arcs[0]


def test_the_nodes_of_the_same_mesh_are_the_solution_itself() -> None:
    own = solved()
    nodes = np.concatenate(([0.0], own.arc.mesh.fractions()))
    told = own.as_guess()
    np.testing.assert_array_equal(told.state_at(nodes), own.states)
    np.testing.assert_array_equal(told.control_at(nodes)[1:], own.controls)


def test_between_the_nodes_the_guess_lies_on_the_polynomials_and_not_on_chords() -> None:
    own = solved()
    nodes = np.concatenate(([0.0], own.arc.mesh.fractions()))
    places = np.linspace(0.0, 1.0, 997)
    on_curve = own.state_at(places)[:, 0]
    chord = np.abs(np.interp(places, nodes, own.states[:, 0]) - on_curve).max()
    told = np.abs(own.as_guess().state_at(places)[:, 0] - on_curve).max()
    assert chord > 1e-4 * RADIUS
    assert told < chord / 100.0
