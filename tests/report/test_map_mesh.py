"""A cost map between its cells: cells are met, and a valley that runs aslant stays in one piece."""

from __future__ import annotations

import numpy as np
import pytest

from ascentopt.report.figures.map_edges import smoothest_edge
from ascentopt.report.figures.map_mesh import Mesh, mesh_of
from ascentopt.typing import Floats

X, Y = np.linspace(1.0, 7.0, 20), np.linspace(30.0, 70.0, 18)
HELD = np.full((18, 20), -0.5)


def valley(x: Floats, y: Floats) -> Floats:
    """Its bottom, 100 kg, curves from corner to corner; twice as steep on the one side."""
    off = x - 4.0 - 2.5 * np.sin((y - 50.0) / 14.0)
    return np.asarray(100.0 + np.where(off > 0.0, 400.0, 200.0) * off**2)


def cells() -> Floats:
    return valley(*np.meshgrid(X, Y))


def met(mesh: Mesh, values: Floats) -> Floats:
    """What the mesh says at the cells, less what they say."""
    columns, rows = (len(mesh.x) - 1) // (len(X) - 1), (len(mesh.y) - 1) // (len(Y) - 1)
    return np.asarray(mesh.penalty[::rows, ::columns] - values)


def test_cells_are_met() -> None:
    assert np.abs(met(mesh_of(X, Y, cells(), HELD), cells())).max() < 1e-9


def test_cells_are_met_beside_holes() -> None:
    values = cells()
    values[values > 1500.0] = np.nan
    values[3, 8] = np.nan
    off = met(mesh_of(X, Y, values, HELD), values)
    assert np.array_equal(np.isfinite(off), np.isfinite(values))
    assert np.nanmax(np.abs(off)) < 1e-9


def test_the_valley_is_no_chain_of_islands() -> None:
    """Every height has a place within 5 kg of the bottom; joined straight up none between has."""
    mesh = mesh_of(X, Y, cells(), HELD)
    inner = (mesh.y > 33.0) & (mesh.y < 67.0)
    assert mesh.penalty[inner].min(axis=1).max() < 105.0
    between = 0.5 * (cells()[:-1] + cells()[1:])
    assert between.min(axis=1).max() > 105.0


def test_it_is_close_between_the_cells() -> None:
    mesh = mesh_of(X, Y, cells(), HELD)
    truth = valley(*np.meshgrid(mesh.x, mesh.y))
    deep = truth < 200.0
    assert np.median(np.abs(mesh.penalty - truth)[deep]) < 3.0


def stairs() -> tuple[Floats, np.ndarray]:
    """Costs whose orbits end aslant, a cell farther every other row, and the last cells."""
    values = cells()
    last = 4 + np.arange(18) // 2
    for row, at in enumerate(last):
        values[row, at + 1 :] = np.nan
    return values, last


def test_orbits_end_between_their_last_cell_and_the_next() -> None:
    values, last = stairs()
    mesh = mesh_of(X, Y, values, HELD)
    rows = (len(mesh.y) - 1) // (len(Y) - 1)
    reach = np.array([mesh.x[np.isfinite(row)].max() for row in mesh.penalty[::rows]])
    assert np.all(reach >= X[last] - 1e-9)
    assert np.all(reach < X[last + 1])


def test_an_edge_aslant_has_no_stairs() -> None:
    """Its second differences are small beside a cell; those of the last cells are a cell."""
    _, last = stairs()
    edge = smoothest_edge(X, Y, last)
    cell = float(X[1] - X[0])
    assert np.abs(np.diff(X[last], 2)).max() == pytest.approx(cell)
    assert np.abs(np.diff(edge, 2)).max() < 0.05 * cell


def test_contours_have_no_kinks_at_the_rows() -> None:
    """Along the valley's flank the cost bends between rows no more than the valley itself does."""
    mesh = mesh_of(X, Y, cells(), HELD)
    column = int(np.argmin(np.abs(mesh.x - 4.0)))
    truth = valley(np.full(len(mesh.y), mesh.x[column]), mesh.y)
    bends, own = (np.abs(np.diff(values, 2)) for values in (mesh.penalty[:, column], truth))
    assert bends.max() < 8.0 * own.max()


def test_a_row_with_one_orbit_and_one_without_any() -> None:
    values = cells()
    values[4, np.arange(20) != 7] = np.nan
    values[10] = np.nan
    mesh = mesh_of(X, Y, values, HELD)
    assert np.nanmax(np.abs(met(mesh, values))) < 1e-9
    empty = (mesh.y > Y[9] + 1e-6) & (mesh.y < Y[11] - 1e-6)
    assert not np.any(np.isfinite(mesh.penalty[empty]))


def test_a_gap_aslant_has_no_stairs() -> None:
    """Between its rows the edges of a gap move on evenly, and costs go on up to them."""
    x, y = np.linspace(0.0, 1.0, 21), np.linspace(0.0, 1.0, 11)
    across, upward = np.meshgrid(x, y)
    gap = np.abs(across - 0.3 - 0.4 * upward) < 0.07
    penalty = np.where(gap, np.nan, 10.0 * (across - 0.1) ** 2)
    mesh = mesh_of(x, y, penalty, np.zeros_like(penalty))
    inner = [np.flatnonzero(np.isnan(row)) for row in mesh.penalty]
    begins = np.array([mesh.x[cells[0]] for cells in inner])
    straight = np.polynomial.Polynomial.fit(mesh.y, begins, 1)(mesh.y)
    assert np.abs(begins - straight).max() < 0.5 * (x[1] - x[0])
    fine = 10.0 * (mesh.x - 0.1) ** 2
    finite = np.isfinite(mesh.penalty)
    misses = np.where(finite, mesh.penalty - fine, 0.0)
    # Less than a cell beyond its last one a row goes on straight: curvature times a cell squared.
    assert np.abs(misses).max() < 20.0 * (x[1] - x[0]) ** 2
