"""Where the delta-v goes."""

from __future__ import annotations

from dataclasses import dataclass, fields

import casadi as ca
import numpy as np

from ascentopt.flight.dynamics.state import MASS
from ascentopt.persistence import Result
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.world.air import ground_velocity
from ascentopt.world.body import Body


@dataclass(frozen=True, kw_only=True, eq=False)
class DeltaVBudget(Result, Tabular):
    """The delta-v of a flight by what became of it, all in m/s.

    Losses are reckoned in the frame that turns with the body, as the trade quotes them: a rocket
    that hangs over its pad loses g per second there, whatever the spin. With w = v - spin x r, the
    velocity in that frame, and w^ its direction (J. W. Cornelisse et al., Rocket Propulsion and
    Spaceflight Dynamics, 1979, from memory, derive the losses for a body that does not turn):

        dw/dt    = (T u + F)/m + g + c - 2 spin x w,      c = -spin x (spin x r)
        d|w|/dt  = (T/m) u.w^ + F.w^/m + (g + c).w^       the Coriolis term does no work
        T u.w^   = Tvac - p A - T (1 - u.w^)              as T = Tvac - p A

    Integrating from start to end and moving the losses to the other side:

        ideal = |w_end| - |w_start| + gravity + drag + steering + back_pressure

    and with |w_end| = |v_end| - rotation this is the closing equation

        ideal = speed_gained - rotation + gravity + drag + steering + back_pressure.

    Args:
        ideal: integral of Tvac/m: what the propellant would give in empty space.
        speed_gained: final inertial speed, less the initial speed relative to the pad (zero for a
            flight that begins on it).
        gravity: minus the integral of (g + c).w^.
        drag: minus the integral of F.w^/m, F all that the air does, normal force included.
        steering: integral of (T/m)(1 - u.w^), for thrust that does not point along the motion.
        back_pressure: integral of p A/m, A the exit area.
        rotation: |v_end| - |w_end|, the help from the spin of the body.
    """

    ideal: float
    speed_gained: float
    gravity: float
    drag: float
    steering: float
    back_pressure: float
    rotation: float

    @property
    def losses(self) -> float:
        """Gravity, drag, steering and back-pressure together, m/s."""
        return self.gravity + self.drag + self.steering + self.back_pressure

    @property
    def closing_error(self) -> float:
        """What the closing equation misses by, m/s: the error of the integration."""
        return self.ideal - (self.speed_gained - self.rotation + self.losses)

    def to_table(self) -> Table:
        """A row for each term, and what the closing equation misses by."""
        terms = [(field.name, getattr(self, field.name)) for field in fields(self)]
        rows = [*terms, ("closing_error", self.closing_error)]
        return Table.of("delta-v budget", [("term", ""), ("delta_v", "m/s")], rows)

    def __repr__(self) -> str:
        shown = f"ideal {self.ideal:.1f}", f"losses {self.losses:.1f}"
        return one_line(self, *shown, f"rotation {self.rotation:.1f} m/s")

    def __str__(self) -> str:
        rows = [f"{'delta-v budget':20}{'m/s':>10}"]
        rows += [
            f"{'  ' + field.name.replace('_', ' '):20}{getattr(self, field.name):10.1f}"
            for field in fields(self)
        ]
        return "\n".join([*rows, f"{'  closing error':20}{self.closing_error:10.1e}"])


def budget_of(body: Body, start: np.ndarray, end: np.ndarray, losses: np.ndarray) -> DeltaVBudget:
    """The budget from the first and last state (7) and the integrated losses (5)."""
    final, relative = float(np.linalg.norm(end[3:6])), _pad_speed(body, end)
    ideal, gravity, drag, steering, back_pressure = (float(value) for value in losses)
    return DeltaVBudget(
        ideal=ideal,
        speed_gained=final - _pad_speed(body, start),
        gravity=gravity,
        drag=drag,
        steering=steering,
        back_pressure=back_pressure,
        rotation=final - relative,
    )


def _pad_speed(body: Body, state: np.ndarray) -> float:
    position, velocity = ca.DM(state[:3]), ca.DM(state[3:MASS])
    return float(ca.norm_2(ground_velocity(body, position, velocity)))
