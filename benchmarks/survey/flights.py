"""Many flights of one vehicle at once, steered by a few numbers: written without the library.

Only the descriptions (tables of air, drag and thrust) are the library's; equations of motion,
integration, steering and what counts as having arrived are not. Arrays are (n) for n flights, or
(n, 3) for vectors.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil

import numpy as np

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.world import site_position
from benchmarks.survey.arrival import Arrival, Instant
from benchmarks.survey.surroundings import Floats, Surroundings
from benchmarks.survey.timeline import Piece, pieces

# Long enough to be quick, short enough that a flight is right to a few m/s.
_STEP_IN_AIR, _STEP_ABOVE = 1.5, 4.0  # s

_PENALTY = 1000.0  # m/s for each time a limit's own size that it is exceeded by
_SLIGHT = 0.005  # of a limit: what an optimum may exceed it by as well
_SEEN = 0.98  # of a peak that a quick look may see
_GROUND = "ground"  # a flight below it is fined by the km
_STILL_AIR = 1000.0  # Pa; below it an angle of attack is not held against a flight


@dataclass(frozen=True, kw_only=True)
class Steering:
    """A gravity turn from a kick, then a linear tangent law, for n flights. All arrays (n).

    `kick` rad from the vertical; `leave` m altitude where the turn ends; `tangent` the tangent of
    the pitch there, falling by `fall` until everything is burned, along a parabola `bend` above
    the straight line; `coast` s before the last stage is lit.
    """

    kick: Floats
    leave: Floats
    tangent: Floats
    fall: Floats
    bend: Floats
    coast: Floats


@dataclass
class _State:
    """Where the flights are, and what they went through."""

    r: Floats
    v: Floats
    fairing: Floats
    left_at: Floats
    penalty: dict[str, Floats] = field(default_factory=dict)

    def worst(self, name: str, excess: Floats) -> None:
        """Remember the greatest excess of a limit."""
        self.penalty[name] = np.maximum(self.penalty.get(name, np.zeros(len(excess))), excess)

    def fines(self) -> Floats:
        """For all limits exceeded so far (n), m/s."""
        return _PENALTY * sum(self.penalty.values(), np.zeros(len(self.r)))

    def excess(self) -> Floats:
        """By what share of itself the limit on loads is exceeded that is most (n)."""
        found = (v for name, v in self.penalty.items() if name != _GROUND)
        worst: Floats = np.maximum.reduce([np.zeros(len(self.r)), *found])
        return worst


def fined(spare: Floats, fines: Floats, excess: Floats) -> Floats:
    """What flights have to spare, m/s: nothing where a limit is broken, whatever the tanks hold."""
    return np.where(excess > _SLIGHT, np.minimum(spare, 0.0), spare) - fines


@dataclass(frozen=True)
class Flights:
    """One vehicle on one mission.

    Commands are held for a second or more, which is the steering and no error. Each hold is
    integrated, and watched for limits, in `substeps`: one for a quick look, more to be sure.
    """

    vehicle: Vehicle
    mission: Mission
    substeps: int = 1

    @property
    def _around(self) -> Surroundings:
        return Surroundings(self.vehicle, self.mission)

    @property
    def _sharpness(self) -> float:
        """Share of a limit that is held: a quick look sees a peak to a per cent or two."""
        return 1.0 if self.substeps > 1 else _SEEN

    @property
    def _arrival(self) -> Arrival:
        return Arrival(self.vehicle, self.mission)

    def spare(self, steering: Steering) -> Floats:
        """Speed in m/s that each flight has to spare in the target orbit; negative = missing (n).

        The best over all instants of the last burn: the speed that is left in the tanks less the
        impulse that brings the flight into the orbit, there and then or, where the last stage can
        be lit again, at the apoapsis; less fines for limits exceeded until then and for missed
        heights.
        """
        # A flight that falls through the centre of the planet is no number, and none to miss.
        with np.errstate(all="ignore"):
            spare = self._flown(steering)
        return np.where(np.isfinite(spare), spare, -np.inf)

    def _flown(self, steering: Steering) -> Floats:
        state = self._on_the_pad(len(steering.kick))
        best = np.full(len(steering.kick), -np.inf)
        mass, clock = self.vehicle.lift_off_mass - self.vehicle.fairing_mass, 0.0
        timeline = pieces(self.vehicle, self.mission.limits.axial_acceleration)
        total = sum(piece.duration for piece in timeline)
        last = len(self.vehicle.stages) - 1
        for index, piece in enumerate(timeline):
            if index and piece.stage == last != timeline[index - 1].stage:
                self._coast(state, steering.coast, mass)
            before = self._instant(state, mass)
            for mass_now, clock_now in self._fly(state, piece, steering, mass, clock, total):
                after = self._instant(state, mass_now)
                if piece.stage == last and piece.lit:
                    spare = self._spare_within(before, after, clock_now - clock)
                    best = np.fmax(best, fined(spare, state.fines(), state.excess()))
                before, mass, clock = after, mass_now, clock_now
            mass -= piece.dropped
            if piece.dropped:
                self._check_staging(state)
        return best

    def _instant(self, state: _State, mass: float) -> Instant:
        empty = self.vehicle.payload_mass + self.vehicle.stages[-1].dry_mass
        return Instant(state.r, state.v, mass + state.fairing, empty + state.fairing)

    def _spare_within(self, before: Instant, after: Instant, duration: float) -> Floats:
        """The best of the end of a step and of what lies within it."""
        here = self._arrival.spare(after)
        if not self.vehicle.stages[-1].restarts:
            return here
        best: Floats = np.fmax(here, self._arrival.spare_between(before, after, duration))
        return best

    def _on_the_pad(self, n: int) -> _State:
        body, site = self.mission.body, self.mission.site
        place = site_position(body, site.latitude, 0.0, site.altitude)
        r = np.tile(np.array(place, dtype=float).ravel(), (n, 1))
        return _State(
            r=r,
            v=np.cross([0.0, 0.0, body.rotation_rate], r),
            fairing=np.full(n, self.vehicle.fairing_mass),
            left_at=np.full(n, np.nan),
        )

    def _coast(self, state: _State, duration: Floats, mass: float) -> None:
        steps = 60 * self.substeps
        nothing = Piece(duration=0.0, lit=(), dropped=0.0, stage=0)
        for _ in range(steps):
            self._step(state, nothing, np.zeros_like(state.r), mass, 0.0, duration / steps)

    def _fly(
        self,
        state: _State,
        piece: Piece,
        steering: Steering,
        mass: float,
        clock: float,
        total: float,
    ) -> Iterator[tuple[float, float]]:
        """Walk through a piece; yields the mass without fairing (kg) and the clock (s)."""
        size = _STEP_IN_AIR if piece.stage == 0 else _STEP_ABOVE
        steps = max(2, ceil(piece.duration / size))
        h = piece.duration / steps
        for k in range(steps):
            direction = self._direction(state, steering, clock, total)
            part = h / self.substeps
            for start in (k * h + j * part for j in range(self.substeps)):
                self._step(state, piece, direction, mass, start, np.full(len(state.r), part))
                flows = [piece.flow(start + s * part) for s in (0.0, 0.5, 1.0)]
                mass -= part * (flows[0] + 4.0 * flows[1] + flows[2]) / 6.0
                clock += part
                self._watch(state, direction)
                yield mass, clock

    def _step(
        self,
        state: _State,
        piece: Piece,
        direction: Floats,
        mass: float,
        time: float,
        h: Floats,
    ) -> None:
        """One classical Runge-Kutta step with the thrust held in an inertial direction."""
        step, half = h[:, None], 0.5 * float(h[0])
        r, v = state.r, state.v

        def push(offset: float) -> tuple[float, float]:
            return piece.thrust(time + offset), mass - piece.flow(time + 0.5 * offset) * offset

        starts, middles, ends = push(0.0), push(half), push(2.0 * half)
        k1 = self._acceleration(r, v, state.fairing, piece, direction, starts)
        r2, v2 = r + 0.5 * step * v, v + 0.5 * step * k1
        k2 = self._acceleration(r2, v2, state.fairing, piece, direction, middles)
        r3, v3 = r + 0.5 * step * v2, v + 0.5 * step * k2
        k3 = self._acceleration(r3, v3, state.fairing, piece, direction, middles)
        r4, v4 = r + step * v3, v + step * k3
        k4 = self._acceleration(r4, v4, state.fairing, piece, direction, ends)
        state.r = r + step * (v + 2.0 * v2 + 2.0 * v3 + v4) / 6.0
        state.v = v + step * (k1 + 2.0 * k2 + 2.0 * k3 + k4) / 6.0

    def _acceleration(
        self,
        r: Floats,
        v: Floats,
        fairing: Floats,
        piece: Piece,
        direction: Floats,
        push: tuple[float, float],
    ) -> Floats:
        thrust, mass = push
        total = mass + fairing
        ambient, drag = self._around.air(r, v)
        force = thrust - ambient * piece.exit_area
        pushed: Floats = (force[:, None] * direction + drag) / total[
            :, None
        ] + self._around.gravity(r)
        return pushed

    def _direction(self, state: _State, steering: Steering, clock: float, total: float) -> Floats:
        """Unit thrust directions (n, 3) of the law."""
        up = state.r / np.linalg.norm(state.r, axis=1)[:, None]
        along = self._along(state, up)
        height = self._around.altitude(state.r)
        rise = self.mission.site.altitude + (self.mission.vertical_rise or 0.0)
        relative = self._around.through_air(state.r, state.v)
        climbing = np.einsum("ij,ij->i", relative, up)
        speed = np.maximum(np.linalg.norm(relative, axis=1), 1e-6)
        # At rest on the pad there is no direction of motion to turn with: it counts as vertical.
        tilt = np.where(speed < 1.0, 0.0, np.arccos(np.clip(climbing / speed, -1.0, 1.0)))
        leaves = np.isnan(state.left_at) & (height > np.maximum(steering.leave, rise))
        state.left_at = np.where(leaves, clock, state.left_at)
        kicked = np.cos(steering.kick)[:, None] * up + np.sin(steering.kick)[:, None] * along
        turning = np.where((tilt < steering.kick)[:, None], kicked, relative / speed[:, None])
        share = (clock - state.left_at) / np.maximum(total - state.left_at, 1.0)
        share = np.nan_to_num(share)
        tangent = steering.tangent - steering.fall * share
        tangent += 4.0 * steering.bend * share * (1.0 - share)
        above = (along + tangent[:, None] * up) / np.sqrt(1.0 + tangent**2)[:, None]
        chosen = np.where(np.isnan(state.left_at)[:, None], turning, above)
        flown: Floats = np.where((height < rise)[:, None], up, chosen)
        return flown

    def _along(self, state: _State, up: Floats) -> Floats:
        """Unit horizontal directions (n, 3) of the velocity that is still to be gained."""
        radius = np.linalg.norm(state.r, axis=1)
        wanted, _ = self._arrival.wanted(radius)
        level = state.v - np.einsum("ij,ij->i", state.v, up)[:, None] * up
        gain = 1.05 * wanted[:, None] * self._arrival.course(up, level) - level
        along: Floats = gain / np.linalg.norm(gain, axis=1)[:, None]
        return along

    def _watch(self, state: _State, direction: Floats) -> None:
        """Note the limits exceeded, crashes, and drop the fairing where it may be."""
        height = self._around.altitude(state.r)
        state.worst(_GROUND, np.maximum(self.mission.site.altitude - 1.0 - height, 0.0) / 1e3)
        air, limits = self.mission.body.atmosphere, self.mission.limits
        if air is None:
            return
        relative = self._around.through_air(state.r, state.v)
        speed = np.maximum(np.linalg.norm(relative, axis=1), 1e-6)
        density = air.density(height)
        pressure = 0.5 * density * speed**2
        cosine = np.einsum("ij,ij->i", relative, direction) / speed
        angle = np.arccos(np.clip(cosine, -1.0, 1.0))
        loads = {
            "q": (pressure, limits.dynamic_pressure),
            "q alpha": (pressure * angle, limits.q_alpha),
            "angle": (np.where(pressure > _STILL_AIR, angle, 0.0), limits.angle_of_attack),
        }
        for name, (load, limit) in loads.items():
            if limit is not None:
                state.worst(name, np.maximum(load / (self._sharpness * limit) - 1.0, 0.0))
        fairing = self.vehicle.fairing
        if fairing is not None:
            cool = (0.5 * density * speed**3 < fairing.max_heating) & (height > 0.3 * air.ceiling)
            state.fairing = np.where(cool, 0.0, state.fairing)

    def _check_staging(self, state: _State) -> None:
        air, limit = self.mission.body.atmosphere, self.mission.limits.staging_dynamic_pressure
        if air is None or limit is None:
            return
        speed = np.linalg.norm(self._around.through_air(state.r, state.v), axis=1)
        pressure = 0.5 * air.density(self._around.altitude(state.r)) * speed**2
        state.worst("staging q", np.maximum(pressure / limit - 1.0, 0.0))
