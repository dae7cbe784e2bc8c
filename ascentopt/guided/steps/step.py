"""One step of integration of a flight with deviations, compiled; the forces are everybody's.

Classical Runge-Kutta of order four (E. Hairer, S. P. Norsett and G. Wanner, Solving Ordinary
Differential Equations I, 2nd ed., 1993, sec. II.1). Deviations enter where the forces take numbers:

- a density factor multiplies the reference area, since aerodynamic forces are proportional to both;
- added wind is taken off the velocity that the forces see, which enters nowhere but in the motion
  through the air;
- a solid motor that burns faster reads its curve by a clock that runs as much faster.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import casadi as ca

from ascentopt.flight.dynamics.forces import Forces, Instant, forces
from ascentopt.flight.dynamics.local_frame import local_axes
from ascentopt.flight.guidance.direction import view_of
from ascentopt.flight.phases.arc_kind import ArcKind, ArcParameters, Guidance
from ascentopt.guided.steps.aims import AIM, Aim
from ascentopt.typing import Expr

STATE = 8
"""Position, velocity, mass, and what the core has burned of its tank (kg)."""

READ = 7
"""What a step tells of its end; see `Reading`."""


@dataclass(frozen=True)
class StepForm:
    """What decides the shape of a step; hashable.

    Args:
        kind: of the arc.
        aim: where the thrust points; None on a coast.
        altitudes: of the knots of the deviating air; none where it is nominal.
    """

    kind: ArcKind
    aim: Aim | None
    altitudes: tuple[float, ...]

    @property
    def air_numbers(self) -> int:
        """Density factor, east and north at each knot; or nothing."""
        return 3 * len(self.altitudes)

    @property
    def motor_numbers(self) -> int:
        """See `step_function`."""
        return 2 + 3 * len(self.kind.side_curves)


@lru_cache(maxsize=256)
def step_function(form: StepForm) -> ca.Function:
    """Compile it.

    Takes time since lift-off and since the arc began (2), the state (8), the step's length, the
    numbers of the arc, those of the motors (the rate of a solid core's clock and its share of the
    nominal propellant, then rate, factor on thrust and factor on flow of each solid group), the
    platform's rotation (3, rad, inertial), what guidance says (7), and the air's numbers by knots
    (density factor, east, north). Returns the state at the end and what `Reading` lists there.
    """
    names = ("clock", 2), ("state", STATE), ("length", 1), ("numbers", len(form.kind.numbers))
    more = ("motors", form.motor_numbers), ("turn", 3), ("aim", AIM), ("air", form.air_numbers)
    symbols = {name: ca.SX.sym(name, size) for name, size in (*names, *more)}
    given = _Given(form, **symbols)
    h, start = given.length, given.state
    k1 = given.rates(0.0, start)
    k2 = given.rates(0.5, start + 0.5 * h * k1)
    k3 = given.rates(0.5, start + 0.5 * h * k2)
    k4 = given.rates(1.0, start + h * k3)
    end = start + h / 6.0 * (k1 + 2.0 * k2 + 2.0 * k3 + k4)
    found = ca.vertcat(end, given.reading(end))
    return ca.Function("step", list(symbols.values()), [ca.cse(ca.densify(found))])


@dataclass(frozen=True)
class _Given:
    form: StepForm
    clock: Expr
    state: Expr
    length: Expr
    numbers: Expr
    motors: Expr
    turn: Expr
    aim: Expr
    air: Expr

    def rates(self, part: float, state: Expr) -> Expr:
        """(8,) time derivative."""
        now = self._now(part, state)
        acceleration = now.forces.gravity + now.push
        return ca.vertcat(state[3:6], acceleration, -now.mass_flow, now.core_flow)

    def reading(self, state: Expr) -> Expr:
        """(READ,) in the order of `Reading`."""
        now = self._now(1.0, state)
        there, coasts = now.forces, self.form.aim is None
        attack = 0.0 if coasts else ca.acos(ca.fmin(ca.fmax(there.cosine_of_attack, -1.0), 1.0))
        pressure = now.density * there.dynamic_pressure
        axial = 0.0 if coasts else ca.dot(now.push, there.direction)
        return ca.vertcat(
            there.altitude,
            pressure,
            pressure * attack,
            axial,
            now.density * there.heating,
            there.heating,
            there.instant.throttle,
        )

    def _now(self, part: float, state: Expr) -> _Now:
        kind, into = self.form.kind, part * self.length
        time, elapsed = self.clock[0] + into, self.clock[1] + into
        position, velocity = state[:3], state[3:6]
        density, wind = self._air(position)
        view = view_of(kind.body, (time, elapsed), position, velocity)
        direction, throttle = ca.SX.zeros(3), ca.SX(1.0)
        if self.form.aim is not None:
            meant, throttle = self.form.aim.at(kind.body, view, ca.vertcat(self.aim, into))
            turned = meant + ca.cross(self.turn, meant)
            direction = turned / ca.norm_2(turned)
        instant = Instant(
            time=time,
            elapsed=elapsed,
            position=position,
            velocity=velocity - wind,
            mass=state[6],
            direction=direction,
            throttle=throttle,
            numbers=self._numbers(time, elapsed, state[6], density),
        )
        return _Now.of(kind, instant, density, self.motors)

    def _air(self, position: Expr) -> tuple[Expr, Expr]:
        """Density factor, and wind (3) to be added."""
        knots = self.form.altitudes
        if not knots:
            return ca.SX(1.0), ca.SX.zeros(3)
        body = self.form.kind.body
        height = view_of(body, (0.0, 0.0), position, ca.SX.zeros(3)).altitude
        place = ca.fmin(ca.fmax(height, knots[0]), knots[-1])
        row = _air_lookup(knots)(place, self.air) if len(knots) > 1 else self.air
        _, east, north = local_axes(body, position)
        return row[0], row[1] * east + row[2] * north

    def _numbers(self, time: Expr, elapsed: Expr, mass: Expr, density: Expr) -> Expr:
        """Those of the arc as the forces are to see them now."""
        kind = self.form.kind
        own = ArcParameters[Expr].of(kind, self.numbers)
        lit = own.core_ignition
        if kind.core_curve is not None and kind.core_by_mass:
            lit = mass + (lit - mass) / self.motors[1]
        elif kind.core_curve is not None:
            clock = elapsed if kind.core_clock_starts else time
            lit = clock - self.motors[0] * (clock - lit)
        sides = tuple(
            time - self.motors[2 + 3 * k] * (time - one)
            for k, one in enumerate(own.side_ignitions)
        )
        area = density * own.reference_area
        seen = replace(own, reference_area=area, core_ignition=lit, side_ignitions=sides)
        return ca.vertcat(*seen.numbers)


@dataclass(frozen=True)
class _Now:
    """Forces at an instant, with what solid boosters add."""

    forces: Forces
    density: Expr
    push: Expr
    mass_flow: Expr
    core_flow: Expr

    @classmethod
    def of(cls, kind: ArcKind, instant: Instant, density: Expr, motors: Expr) -> _Now:
        """The core and boosters of constant thrust by one call; each solid group by another."""
        count = len(kind.side_curves)
        fixed = len(kind.numbers) - count
        own = instant.numbers
        bare = replace(kind, side_curves=(), direction_is_state=False)
        there = forces(bare, replace(instant, numbers=own[:fixed]))
        push, flow = there.push, there.mass_flow
        for k, side in enumerate(kind.side_curves):
            one = replace(bare, side_curves=(side,))
            numbers = ca.vertcat(own[:fixed], own[fixed + k])
            lit = forces(one, replace(instant, numbers=numbers))
            thrust = motors[3 + 3 * k] * (lit.vacuum_thrust - there.vacuum_thrust)
            push = push + thrust * there.direction / instant.mass
            flow = flow + motors[4 + 3 * k] * (lit.mass_flow - there.mass_flow)
        coasts = kind.guidance is Guidance.COAST
        core = 0.0 if coasts else there.mass_flow - ArcParameters.of(bare, own).side_mass_flow
        return cls(there, density, push, flow, core)


@lru_cache(maxsize=64)
def _air_lookup(knots: tuple[float, ...]) -> ca.Function:
    table = ca.interpolant("air", "linear", [list(knots)], 3, {})
    x, numbers = ca.MX.sym("x"), ca.MX.sym("numbers", 3 * len(knots))
    return ca.Function("air_at", [x, numbers], [table(x, numbers)], {"never_inline": True})


@dataclass(frozen=True)
class Reading:
    """Places in a step's result behind the state."""

    altitude: int = STATE
    dynamic_pressure: int = STATE + 1
    q_alpha: int = STATE + 2
    axial_acceleration: int = STATE + 3
    heating: int = STATE + 4
    nominal_heating: int = STATE + 5
    throttle: int = STATE + 6

