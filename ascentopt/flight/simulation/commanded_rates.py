"""Rates on arcs on which the command is known beforehand: one compiled call."""

from __future__ import annotations

from functools import lru_cache

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.forces import forces
from ascentopt.flight.dynamics.local_frame import local_axes
from ascentopt.flight.dynamics.losses import LOSSES, loss_rates
from ascentopt.flight.dynamics.state import motion, unpacked
from ascentopt.flight.guidance.law import WrittenCommand
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.guidance.tabulated_curve import Curve
from ascentopt.flight.phases.arc_kind import ArcKind, Guidance
from ascentopt.flight.phases.sequence import FlightArc
from ascentopt.flight.simulation.samples import Samples
from ascentopt.numerics.buffered import BufferedFunction
from ascentopt.typing import Expr, Floats

_CLOCKS, _FLOWN = 2, 7 + len(LOSSES)  # time and elapsed; state and losses
_AXIS = 3
_COURSE = _AXIS + 17
"""Numbers of a piece of a command: axis of east, s into the arc where it begins, four cubics."""


class WrittenRates:
    """Rates under a command that is a curve against the seconds since an arc began.

    Not to be shared by threads.

    Args:
        arc: that is flown, since the instant `began` in s.
        command: on arcs that need no direction only its throttle counts.
    """

    def __init__(self, arc: FlightArc, began: float, command: WrittenCommand) -> None:
        self._began, self._curve = began, command.curve
        self._rates = BufferedFunction(_function(arc.kind))
        self._rates.given[1][:] = arc.numbers
        self._rates.given[2][:_AXIS] = command.axis

    def select_piece(self, elapsed: float) -> None:
        """From now on take the piece of the curve that holds so many seconds into the arc."""
        place = self._curve.place(elapsed)
        piece = [number for quantity in self._curve.pieces[place] for number in quantity]
        course = self._rates.given[2][_AXIS:]
        course[0] = self._curve.starts[place]
        course[1:] = piece

    def __call__(self, time: float, state: Floats) -> Floats:
        """(12,) rates of state and losses."""
        given = self._rates.given[0]
        given[:_CLOCKS] = time, time - self._began
        given[_CLOCKS:] = state
        self._rates.evaluate()
        return self._rates.found.copy()


def idle(arc: FlightArc) -> WrittenCommand | None:
    """What is commanded where a law has nothing to say, else None."""
    kind = arc.kind
    coasts = kind.guidance is Guidance.COAST
    if coasts or (kind.guidance is Guidance.VERTICAL and not kind.throttled):
        return WrittenCommand(Curve.through([0.0], [[0.0]] * 3, [[0.0 if coasts else 1.0]]))
    return None


def commands(
    guidance: Guidance, command: WrittenCommand, samples: Samples, around: Surroundings
) -> Floats:
    """(n, 4) inertial directions, and throttle, at the samples of an arc."""
    told = command.curve.at(samples.elapsed)
    if guidance is Guidance.COAST:
        return told
    frames = around.at_all(samples.states, command.axis)[:, :9].reshape(-1, 3, 3)
    if guidance is Guidance.VERTICAL:
        return np.column_stack((frames[:, 0], told[:, 3]))
    directions = np.einsum("kij,ki->kj", frames, told[:, :3])
    directions /= np.linalg.norm(directions, axis=1, keepdims=True)
    return np.column_stack((directions, told[:, 3]))


@lru_cache(maxsize=128)
def _function(kind: ArcKind) -> ca.Function:
    """Rates of what is flown (12), of clocks and what is flown (14), numbers and course."""
    x, numbers, course = (
        ca.SX.sym("x", _CLOCKS + _FLOWN),
        ca.SX.sym("p", len(kind.numbers)),
        ca.SX.sym("c", _COURSE),
    )
    command = _command(kind, course, x[1], x[_CLOCKS : _CLOCKS + 3])
    now = forces(kind, unpacked(ca.vertcat(x[: _CLOCKS + 7], *command), numbers))
    rates = ca.vertcat(motion(now), loss_rates(kind.body, now))
    return ca.Function("rates", [x, numbers, course], [ca.densify(ca.cse(rates))])


def _command(kind: ArcKind, course: Expr, elapsed: Expr, position: Expr) -> tuple[Expr, Expr]:
    """Inertial direction (3) and throttle."""
    axis, piece = course[:_AXIS], course[_AXIS:]
    t = elapsed - piece[0]
    told = [((c[0] * t + c[1]) * t + c[2]) * t + c[3] for c in ca.vertsplit(piece[1:], 4)]
    if kind.guidance is not Guidance.STEERED:
        return ca.SX.zeros(3), told[3]
    axes = local_axes(kind.body, position, axis)
    along = sum(part * axis for part, axis in zip(told[:3], axes, strict=True))
    return along / ca.norm_2(along), told[3]
