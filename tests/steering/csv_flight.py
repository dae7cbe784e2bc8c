"""A flight by a steering CSV alone: what somebody else's simulator would make of it.

Nothing of the package's steering, sequence of arcs or simulator is used: the file is read with the
standard library, forces are those of tests/flight/reference.py, steps are SciPy's.
"""

from __future__ import annotations

import csv
from ast import literal_eval
from dataclasses import dataclass
from math import cos, sin, sqrt
from pathlib import Path

import numpy as np
from scipy.integrate import solve_ivp
from scipy.interpolate import CubicSpline, PchipInterpolator

from ascentopt.rocket import Vehicle
from ascentopt.world import Body
from tests.flight.reference import Alight, Vector, forces, geodetic

Row = dict[str, str]


@dataclass(frozen=True)
class Piece:
    """A stretch of an arc between jumps: what burns, and the curves of direction and throttle."""

    burning: tuple[str, ...]
    start: float
    end: float
    direction: CubicSpline
    throttle: PchipInterpolator


class SteeringFile:
    """What a file says, by the words of its own comments."""

    def __init__(self, path: Path) -> None:
        lines = path.read_text(encoding="utf-8").splitlines()
        comments = [line for line in lines if line.startswith("# ")]
        self.numbers = dict(_number(line) for line in comments if "]: " in line)
        told = next((line for line in lines if line.startswith("# The path comes near a pole")), "")
        self.axis = literal_eval(told[told.index("(") :]) if told else (0.0, 0.0, 1.0)
        self.rows = list(csv.DictReader(line for line in lines if not line.startswith("#")))

    @property
    def events(self) -> list[Row]:
        return [row for row in self.rows if row["event"]]

    def samples(self, arc: str) -> list[Row]:
        return [row for row in self.rows if row["arc"] == arc and not row["event"]]

    @property
    def arcs(self) -> list[str]:
        return list(dict.fromkeys(row["arc"] for row in self.rows))

    def pieces(self, arc: str) -> list[Piece]:
        rows = self.samples(arc)
        times = _column(rows, "time [s]")
        cuts = np.flatnonzero(np.diff(times) <= 0.0) + 1
        return [self._piece([rows[k] for k in own]) for own in np.split(np.arange(len(rows)), cuts)]

    def _piece(self, rows: list[Row]) -> Piece:
        times = _column(rows, "time [s]")
        axes = ("up [-]", "east [-]", "north [-]")
        vectors = np.column_stack([_column(rows, name) for name in axes])
        return Piece(
            burning=tuple(rows[0]["burning"].split(" + ")),
            start=float(times[0]),
            end=float(times[-1]),
            direction=CubicSpline(times, vectors),
            throttle=PchipInterpolator(times, _column(rows, "throttle [-]")),
        )


def _number(line: str) -> tuple[str, float]:
    name, _, value = line.removeprefix("# ").rpartition(": ")
    return name, float(value)


def _column(rows: list[Row], name: str) -> Vector:
    return np.array([float(row[name]) for row in rows])


def pad(file: SteeringFile) -> Vector:
    """(7,) state at lift-off, from the comments alone."""
    given = file.numbers
    a, f = given["equatorial radius [m]"], given["flattening [-]"]
    latitude = given["site, geodetic latitude [rad]"]
    height = given["site, altitude above the ellipsoid [m]"]
    turned = given["site, from the inertial x axis to its meridian at lift-off, eastward [rad]"]
    square = f * (2.0 - f)
    curvature = a / sqrt(1.0 - square * sin(latitude) ** 2)
    aside = (curvature + height) * cos(latitude)
    high = (curvature * (1.0 - square) + height) * sin(latitude)
    position = np.array([aside * cos(turned), aside * sin(turned), high])
    spin = np.array([0.0, 0.0, given["rotation rate [rad/s]"]])
    return np.array([*position, *np.cross(spin, position), given["lift-off mass [kg]"]])


def flown(file: SteeringFile, vehicle: Vehicle, body: Body) -> Vector:
    """(7,) the last state of the flight by the file."""
    state, began = pad(file), 0.0
    for arc in file.arcs:
        events = [row for row in file.events if row["arc"] == arc]
        end = float(events[-1]["time [s]"])
        pieces = file.pieces(arc) if file.samples(arc) else [None]
        for piece in pieces:
            first, last = (began, end) if piece is None else (piece.start, piece.end)
            state = _stretch(file, vehicle, body, piece, (first, last), state)
        for row in events:
            state[6] -= float(row["mass_before [kg]"]) - float(row["mass_after [kg]"])
        began = end
    return state


def _stretch(
    file: SteeringFile,
    vehicle: Vehicle,
    body: Body,
    piece: Piece | None,
    span: tuple[float, float],
    state: Vector,
) -> Vector:
    def rates(time: float, now: Vector) -> Vector:
        alight, direction = Alight(None), np.zeros(3)
        if piece is not None:
            alight = _alight(file, vehicle, piece, time)
            direction = _inertial(body, now, piece.direction(time), file.axis)
        found = forces(vehicle, body, alight, now, direction)
        return np.array([*now[3:6], *found.acceleration, -found.mass_flow])

    if span[1] <= span[0]:
        return state
    scales = np.array([1e6, 1e6, 1e6, 1e3, 1e3, 1e3, 1e4])
    done = solve_ivp(rates, span, state, method="DOP853", rtol=1e-10, atol=1e-12 * scales)
    assert done.success, done.message
    return np.asarray(done.y[:, -1], dtype=np.float64)


def _inertial(body: Body, now: Vector, local: Vector, axis: tuple[float, float, float]) -> Vector:
    _, up = geodetic(body, now[:3])
    east = np.cross(axis, up)
    east /= np.linalg.norm(east)
    found = local @ np.array([up, east, np.cross(up, east)])
    return np.asarray(found / np.linalg.norm(found))


def _alight(file: SteeringFile, vehicle: Vehicle, piece: Piece, time: float) -> Alight:
    """What the description calls by the names that the file says burn, each by its own clock."""
    lit = {
        row["event"].removesuffix(" ignition"): float(row["time [s]"])
        for row in file.events
        if row["event"].endswith(" ignition") and float(row["time [s]"]) <= piece.start + 1e-9
    }
    stages = [(one, time - lit[one.name]) for one in vehicle.stages if one.name in piece.burning]
    groups = [(one, time - lit[one.name]) for one in vehicle.boosters if one.name in piece.burning]
    assert len(stages) + len(groups) == len(piece.burning)
    stage = stages[0] if stages else None
    return Alight(stage, tuple(groups), float(piece.throttle(time)))
