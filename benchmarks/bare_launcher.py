"""The four-phase launcher in bare CasADi: the yardstick of ``benchmarks.pace``.

What somebody writes who wants this one answer and knows a flight near it: no limits, no tables, no
refinement, no independent flight. Nothing of the library is imported. The meshes are those that the
library begins on: 4, 4 and 6 intervals of 4 Radau points in the air, 3 of 5 above.

J. T. Betts, *Practical Methods for Optimal Control*, 2nd ed., SIAM 2010, sec. 6.15; D. A. Benson,
PhD thesis, MIT, 2004.
"""

from __future__ import annotations

from dataclasses import dataclass
from math import cos, pi, radians, sin, sqrt
from typing import Any

import casadi as ca
import numpy as np
from numpy.typing import NDArray

Array = NDArray[np.float64]

MU, RADIUS, SPIN = 3.986012e14, 6378145.0, 7.29211585e-5
DENSITY, SCALE_HEIGHT, DRAG_AREA = 1.225, 7200.0, 0.5 * 4.0 * pi
LENGTH, SPEED, MASS = RADIUS, sqrt(MU / RADIUS), 301454.0
TIME = LENGTH / SPEED
SOLID, CORE = (628500.0, 17010.0 / 75.2), (1083100.0, 95550.0 / 261.0)
UPPER = 110094.0, 16820.0 / 700.0
LATITUDE = radians(28.5)
PAD = np.array([RADIUS * cos(LATITUDE), 0.0, RADIUS * sin(LATITUDE)])
STATES, CONTROLS = 7, 3


@dataclass(frozen=True)
class Phase:
    """Thrust in N, mass flow in kg/s, longest end in s, mass dropped at it in kg, mesh."""

    thrust: float
    flow: float
    end: float
    dropped: float
    intervals: int
    degree: int


def _phase(
    solids: int, core: tuple[float, float], end: float, dropped: float, mesh: tuple[int, int]
) -> Phase:
    thrust, flow = solids * SOLID[0] + core[0], solids * SOLID[1] + core[1]
    return Phase(thrust, flow, end, dropped, *mesh)


PHASES = (
    _phase(6, CORE, 75.2, 6 * 2280.0, (4, 4)),
    _phase(3, CORE, 150.4, 3 * 2280.0, (4, 4)),
    _phase(0, CORE, 261.0, 8830.0, (6, 4)),
    _phase(0, UPPER, 961.0, 0.0, (3, 5)),
)


@dataclass(frozen=True)
class Answer:
    """Final mass in kg, iterations, whether IPOPT solved it, and the variables, scaled."""

    final_mass: float
    iterations: int
    solved: bool
    x: Array


def build_and_solve(guess: Array) -> Answer:
    """Write the program down, let CasADi differentiate it, and solve it from a guess."""
    program = _program()
    solver = ca.nlpsol(
        "bare",
        "ipopt",
        {name: program[name] for name in ("x", "f", "g")},
        {"ipopt": {"print_level": 0, "sb": "yes", "mu_strategy": "adaptive"}, "print_time": False},
    )
    bounds = {name: program[name] for name in ("lbx", "ubx", "lbg", "ubg")}
    found, stats = solver(x0=guess, **bounds), solver.stats()
    mass = -float(found["f"]) * MASS
    return Answer(mass, stats["iter_count"], stats["success"], np.array(found["x"]).ravel())


def good_guess() -> Array:
    """Straight lines through five points of each phase of the solution, rounded to a per cent.

    The solution is found from a guess that stands on the pad and in the orbit.
    """
    solved = build_and_solve(_crude_guess())
    assert solved.solved
    parts, at = [], 0
    for phase in PHASES:
        clock, count = _clock(phase), len(_clock(phase)) - 1
        states = solved.x[at : at + STATES * (count + 1)].reshape(-1, STATES)
        at += states.size
        controls = solved.x[at : at + CONTROLS * count].reshape(-1, CONTROLS)
        at += controls.size
        parts += [_coarsened(clock, states).ravel(), _coarsened(clock[1:], controls).ravel()]
    return np.concatenate([*parts, np.round(solved.x[at:], 2)])


def _coarsened(clock: Array, rows: Array) -> Array:
    few = np.linspace(clock[0], clock[-1], 5)
    columns = [np.interp(clock, few, np.round(np.interp(few, clock, c), 2)) for c in rows.T]
    return np.column_stack(columns)


def _clock(phase: Phase) -> Array:
    """Fractions of a phase at its start and its collocation points."""
    points = np.array(ca.collocation_points(phase.degree, "radau"))
    steps = (np.arange(phase.intervals)[:, None] + points) / phase.intervals
    return np.concatenate(([0.0], steps.ravel()))


def _crude_guess() -> Array:
    """On the pad until the boosters are gone, at the periapsis afterwards."""
    start = np.concatenate((PAD / LENGTH, np.cross([0.0, 0.0, SPIN], PAD) / SPEED))
    momentum, first, second = _orbit()
    near = 24361140.0 * (1.0 - 0.7308)
    fast = float(np.linalg.norm(momentum)) / near
    there = np.concatenate((first * near / LENGTH, second * fast / SPEED))
    parts, mass, begun = [], MASS, 0.0
    for k, phase in enumerate(PHASES):
        clock = _clock(phase)
        masses = mass - phase.flow * (phase.end - begun) * clock
        fixed = np.tile(start if k < 2 else there, (len(clock), 1))
        parts.append(np.column_stack((fixed, masses / MASS)).ravel())
        parts.append(np.tile([1.0, 0.0, 0.0] if k == 0 else [0.0, 1.0, 0.0], len(clock) - 1))
        mass, begun = masses[-1] - phase.dropped, phase.end
    return np.concatenate([*parts, [900.0 / TIME]])


def _orbit() -> tuple[Array, Array, Array]:
    """Angular momentum in m^2/s, and unit vectors to the periapsis and across it in the plane."""
    i, node, argument = (radians(angle) for angle in (28.5, 269.8, 130.5))
    east, north = np.array([cos(node), sin(node), 0.0]), np.array([-sin(node), cos(node), 0.0])
    ahead = cos(i) * north + np.array([0.0, 0.0, sin(i)])
    first = cos(argument) * east + sin(argument) * ahead
    second = cos(argument) * ahead - sin(argument) * east
    size = sqrt(MU * 24361140.0 * (1.0 - 0.7308**2))
    return size * np.cross(first, second), first, second


def _rates(phase: Phase) -> ca.Function:
    """Scaled rates of position, velocity and mass."""
    x, u = ca.SX.sym("x", STATES), ca.SX.sym("u", CONTROLS)
    r, v, m = x[:3] * LENGTH, x[3:6] * SPEED, x[6] * MASS
    radius = ca.norm_2(r)
    wind = v - ca.vertcat(-SPIN * r[1], SPIN * r[0], 0.0)
    density = DENSITY * ca.exp(-(radius - RADIUS) / SCALE_HEIGHT)
    speed = ca.sqrt(ca.sumsqr(wind) + 1e-6)  # the pad stands still in the air: no root of zero
    drag = -0.5 * density * DRAG_AREA * speed * wind
    push = (phase.thrust * u + drag) / m - MU * r / radius**3
    rates = ca.vertcat(v * TIME / LENGTH, push * TIME / SPEED, -phase.flow * TIME / MASS)
    return ca.Function("rates", [x, u], [rates])


class _Writer:
    """Collects variables and constraints."""

    def __init__(self) -> None:
        self.x: list[Any] = []
        self.g: list[Any] = []
        self.low: list[float] = []
        self.high: list[float] = []
        self.lbg: list[float] = []
        self.ubg: list[float] = []

    def variables(self, name: str, rows: int, columns: int, low: float, high: float) -> Any:
        symbol = ca.SX.sym(name, rows, columns)
        self.x.append(ca.vec(symbol))
        self.low += [low] * (rows * columns)
        self.high += [high] * (rows * columns)
        return symbol

    def rows(self, values: Any, low: float = 0.0, high: float = 0.0) -> None:
        column = ca.vec(values)
        self.g.append(column)
        self.lbg += [low] * column.numel()
        self.ubg += [high] * column.numel()


def _program() -> dict[str, Any]:
    write = _Writer()
    arcs = [_arc(write, phase) for phase in PHASES]
    end = write.variables("end", 1, 1, 262.0 / TIME, 961.0 / TIME)
    instants = [0.0, *(phase.end / TIME for phase in PHASES[:-1]), end]
    for k, (phase, (states, controls)) in enumerate(zip(PHASES, arcs, strict=True)):
        _collocate(write, phase, states, controls, instants[k + 1] - instants[k])
        if k:
            drop = ca.DM([0.0] * 6 + [PHASES[k - 1].dropped / MASS])
            write.rows(states[:, 0] - arcs[k - 1][0][:, -1] + drop)
    pad = np.concatenate((PAD / LENGTH, np.cross([0.0, 0.0, SPIN], PAD) / SPEED, [1.0]))
    write.rows(arcs[0][0][:, 0] - pad)
    _arrive(write, arcs[-1][0][:, -1])
    return {
        "x": ca.vertcat(*write.x), "f": -arcs[-1][0][6, -1], "g": ca.vertcat(*write.g),
        "lbx": write.low, "ubx": write.high, "lbg": write.lbg, "ubg": write.ubg,
    }  # fmt: skip


def _arc(write: _Writer, phase: Phase) -> tuple[Any, Any]:
    nodes = phase.intervals * phase.degree
    states = write.variables("states", STATES, nodes + 1, -10.0, 10.0)
    return states, write.variables("controls", CONTROLS, nodes, -1.1, 1.1)


def _collocate(write: _Writer, phase: Phase, states: Any, controls: Any, length: Any) -> None:
    """Slopes of the polynomials are the rates at the points; directions have unit length."""
    slopes = ca.collocation_coeff(ca.collocation_points(phase.degree, "radau"))[0]
    rates = _rates(phase).map(phase.intervals * phase.degree)(states[:, 1:], controls)
    for k in range(phase.intervals):
        here = slice(k * phase.degree, (k + 1) * phase.degree + 1)
        found = rates[:, k * phase.degree : (k + 1) * phase.degree]
        write.rows(ca.mtimes(states[:, here], slopes) - length / phase.intervals * found)
    write.rows(ca.sum1(controls**2) - 1.0)


def _arrive(write: _Writer, end: Any) -> None:
    """Angular momentum, and the eccentricity vector within the plane: five conditions."""
    momentum, first, second = _orbit()
    r, v = end[:3], end[3:6]
    here = ca.cross(r, v)
    write.rows(here - momentum / (LENGTH * SPEED))
    eccentricity = ca.cross(v, here) - r / ca.norm_2(r)
    write.rows(ca.dot(eccentricity, ca.DM(first)) - 0.7308)
    write.rows(ca.dot(eccentricity, ca.DM(second)))
