"""Many flights of one vehicle at once, steered by a few numbers: written without the library.

Only the descriptions (tables of air, drag and thrust) are the library's; equations of motion,
integration, steering and what counts as having arrived are not. Arrays are (n) for n flights, or
(n, 3) for vectors.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from math import ceil, pi, sqrt

import numpy as np
import numpy.typing as npt

from ascentopt.mission import Mission
from ascentopt.rocket import Vehicle
from ascentopt.world import site_position
from benchmarks.survey.timeline import Piece, pieces

Floats = npt.NDArray[np.float64]

# Long enough to be quick, short enough that a flight is right to a few m/s.
_STEP_IN_AIR, _STEP_ABOVE = 1.5, 4.0  # s

_PENALTY = 1000.0  # m/s for each time a limit's own size that it is exceeded by
_STILL_AIR = 1000.0  # Pa; below it an angle of attack is not held against a flight


@dataclass(frozen=True, kw_only=True)
class Steering:
    """A gravity turn from a kick, then a linear tangent law, for n flights. All arrays (n).

    `kick` rad from the vertical; `leave` m altitude where the turn ends; `tangent` the tangent of
    the pitch there, falling by `fall` until everything is burned; `coast` s before the last
    stage is lit.
    """

    kick: Floats
    leave: Floats
    tangent: Floats
    fall: Floats
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


@dataclass(frozen=True)
class Flights:
    """One vehicle on one mission."""

    vehicle: Vehicle
    mission: Mission

    def spare(self, steering: Steering) -> Floats:
        """Speed in m/s that each flight has to spare in the target orbit; negative = missing (n).

        The best over all instants of the last burn: the speed that is left in the tanks less the
        impulse that brings the flight into the orbit, there and then or, where the last stage can
        be lit again, at the apoapsis; less penalties for limits exceeded and for missed heights.
        """
        state = self._on_the_pad(len(steering.kick))
        best = np.full(len(steering.kick), -np.inf)
        mass, clock = self.vehicle.lift_off_mass - self.vehicle.fairing_mass, 0.0
        timeline = pieces(self.vehicle)
        total = sum(piece.duration for piece in timeline)
        last = len(self.vehicle.stages) - 1
        for index, piece in enumerate(timeline):
            if index and piece.stage == last != timeline[index - 1].stage:
                self._coast(state, steering.coast, mass)
            for mass_now, clock_now in self._fly(state, piece, steering, mass, clock, total):
                if piece.stage == last and piece.lit:
                    best = np.maximum(best, self._spare_now(state, mass_now))
                mass, clock = mass_now, clock_now
            mass -= piece.dropped
            if piece.dropped:
                self._check_staging(state)
        return best - _PENALTY * sum(state.penalty.values(), np.zeros(len(best)))

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
        steps = 40
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
            self._step(state, piece, direction, mass, k * h, np.full(len(state.r), h))
            flows = [piece.flow((k + s) * h) for s in (0.0, 0.5, 1.0)]
            mass -= h * (flows[0] + 4.0 * flows[1] + flows[2]) / 6.0
            clock += h
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
        ambient, drag = self._air(r, v)
        force = thrust - ambient * piece.exit_area
        pushed: Floats = (force[:, None] * direction + drag) / total[:, None] + self._gravity(r)
        return pushed

    def _gravity(self, r: Floats) -> Floats:
        body = self.mission.body
        distance = np.linalg.norm(r, axis=1)[:, None]
        strength = 1.5 * body.j2 * (body.radius / distance) ** 2
        sine = 5.0 * (r[:, 2:] / distance) ** 2
        factor = 1.0 + strength * (np.array([1.0, 1.0, 3.0]) - sine)
        pull: Floats = -body.gravitational_parameter / distance**3 * factor * r
        return pull

    def _altitude(self, r: Floats) -> Floats:
        """Above the ellipsoid, to first order in the flattening: tens of metres off at most."""
        body = self.mission.body
        distance = np.linalg.norm(r, axis=1)
        height: Floats = distance - body.radius * (
            1.0 - body.flattening * (r[:, 2] / distance) ** 2
        )
        return height

    def _through_air(self, r: Floats, v: Floats) -> Floats:
        relative: Floats = v - np.cross([0.0, 0.0, self.mission.body.rotation_rate], r)
        return relative

    def _air(self, r: Floats, v: Floats) -> tuple[Floats, Floats]:
        """Ambient pressure (n) in Pa and drag (n, 3) in N."""
        air, shape = self.mission.body.atmosphere, self.vehicle.aerodynamics
        if air is None or shape is None:
            return np.zeros(len(r)), np.zeros_like(r)
        density, pressure, sound = air.state(self._altitude(r))
        relative = self._through_air(r, v)
        speed = np.linalg.norm(relative, axis=1)
        coefficient = shape.drag_coefficient_at(speed / sound)
        size = 0.5 * density * speed * shape.reference_area * coefficient
        return pressure, -size[:, None] * relative

    def _direction(self, state: _State, steering: Steering, clock: float, total: float) -> Floats:
        """Unit thrust directions (n, 3) of the law."""
        up = state.r / np.linalg.norm(state.r, axis=1)[:, None]
        along = self._along(state, up)
        height = self._altitude(state.r)
        rise = self.mission.site.altitude + (self.mission.vertical_rise or 0.0)
        relative = self._through_air(state.r, state.v)
        climbing = np.einsum("ij,ij->i", relative, up)
        speed = np.maximum(np.linalg.norm(relative, axis=1), 1e-6)
        tilt = np.arccos(np.clip(climbing / speed, -1.0, 1.0))
        leaves = np.isnan(state.left_at) & (height > np.maximum(steering.leave, rise))
        state.left_at = np.where(leaves, clock, state.left_at)
        kicked = np.cos(steering.kick)[:, None] * up + np.sin(steering.kick)[:, None] * along
        turning = np.where((tilt < steering.kick)[:, None], kicked, relative / speed[:, None])
        share = (clock - state.left_at) / np.maximum(total - state.left_at, 1.0)
        tangent = steering.tangent - steering.fall * np.nan_to_num(share)
        above = (along + tangent[:, None] * up) / np.sqrt(1.0 + tangent**2)[:, None]
        chosen = np.where(np.isnan(state.left_at)[:, None], turning, above)
        flown: Floats = np.where((height < rise)[:, None], up, chosen)
        return flown

    def _along(self, state: _State, up: Floats) -> Floats:
        """Unit horizontal directions (n, 3) of the velocity that is still to be gained."""
        radius = np.linalg.norm(state.r, axis=1)
        wanted, _ = self._wanted(radius)
        level = state.v - np.einsum("ij,ij->i", state.v, up)[:, None] * up
        gain = 1.05 * wanted[:, None] * self._course(state, up, level) - level
        along: Floats = gain / np.linalg.norm(gain, axis=1)[:, None]
        return along

    def _course(self, state: _State, up: Floats, level: Floats) -> Floats:
        """Unit horizontal directions (n, 3) of motion in the target's plane, here."""
        east = np.cross([0.0, 0.0, 1.0], up)
        cosine = np.maximum(np.linalg.norm(east, axis=1), 1e-9)
        east /= cosine[:, None]
        north = np.cross(up, east)
        inclination = self.mission.orbit.inclination
        if inclination is None:
            speed = np.linalg.norm(level, axis=1)
            spin = 1.0 if self.mission.body.rotation_rate >= 0.0 else -1.0
            moving: Floats = level / np.maximum(speed, 1e-9)[:, None]
            chosen: Floats = np.where((speed > 1.0)[:, None], moving, spin * east)
            return chosen
        eastward = np.clip(np.cos(inclination) / cosine, -1.0, 1.0)
        # Northbound, and southbound once the highest latitude is passed.
        bound = np.where(np.einsum("ij,ij->i", level, north) < -50.0, -1.0, 1.0)
        course: Floats = eastward[:, None] * east
        course = course + (bound * np.sqrt(1.0 - eastward**2))[:, None] * north
        return course

    def _wanted(self, radius: Floats) -> tuple[Floats, Floats]:
        """Horizontal and (unsigned) vertical speed (n) in m/s in the target at a radius."""
        low, high = self._apsides()
        mu = self.mission.body.gravitational_parameter
        momentum = sqrt(2.0 * mu * low * high / (low + high))
        inside = np.clip(radius, low, high)
        level = momentum / inside
        squared = mu * (2.0 / inside - 2.0 / (low + high)) - level**2
        return level, np.sqrt(np.maximum(squared, 0.0))

    def _apsides(self) -> tuple[float, float]:
        body, orbit = self.mission.body, self.mission.orbit
        low, high = orbit.periapsis_radius_around(body), orbit.apoapsis_radius_around(body)
        if low is None or high is None:
            raise ValueError("the search needs an orbit of known size and shape")
        return low, high

    def _spare_now(self, state: _State, mass: float) -> Floats:
        """Speed to spare (n) in m/s if the flight went into its orbit from here."""
        stage = self.vehicle.stages[-1]
        empty = self.vehicle.payload_mass + stage.dry_mass + state.fairing
        exhaust = stage.engine.vacuum_isp * 9.80665
        left = exhaust * np.log(np.maximum(mass + state.fairing, empty) / empty)
        cost = self._impulse_here(state)
        if stage.restarts:
            cost = np.minimum(cost, self._impulse_at_apoapsis(state, mass))
        spare: Floats = left - cost
        return spare

    def _impulse_here(self, state: _State) -> Floats:
        radius = np.linalg.norm(state.r, axis=1)
        up = state.r / radius[:, None]
        vertical = np.einsum("ij,ij->i", state.v, up)
        level = state.v - vertical[:, None] * up
        wanted, rising = self._wanted(radius)
        course = self._course(state, up, level)
        sideways = np.linalg.norm(wanted[:, None] * course - level, axis=1)
        impulse = np.hypot(sideways, np.abs(vertical) - rising)
        missed: Floats = impulse + self._height_penalty(radius)
        return missed

    def _height_penalty(self, radius: Floats) -> Floats:
        """For heights that are not the target's: three times what a transfer would cost."""
        low, high = self._apsides()
        rate = sqrt(self.mission.body.gravitational_parameter / low**3)
        miss = np.maximum(low - radius, radius - high) - 100.0
        penalty: Floats = 3.0 * rate * np.maximum(miss, 0.0)
        return penalty

    def _impulse_at_apoapsis(self, state: _State, mass: float) -> Floats:
        """Coast along the ellipse flown now, then one burn at its highest point."""
        mu = self.mission.body.gravitational_parameter
        radius = np.linalg.norm(state.r, axis=1)
        momentum = np.cross(state.r, state.v)
        h = np.linalg.norm(momentum, axis=1)
        energy = 0.5 * np.sum(state.v**2, axis=1) - mu / radius
        axis = -mu / (2.0 * np.minimum(energy, -1.0))
        eccentricity = np.sqrt(np.maximum(1.0 - h**2 / (mu * axis), 0.0))
        top = axis * (1.0 + eccentricity)
        wanted, rising = self._wanted(top)
        impulse = np.hypot(wanted - h / top, rising) + h / top * self._tilt(momentum, h)
        impulse += self._height_penalty(top)
        burn = impulse * (mass + state.fairing) / self.vehicle.stages[-1].engine.mean_thrust
        arc = np.minimum(burn * np.sqrt(mu / top**3), pi)
        # A burn over an arc instead of at a point: A. Robbins, AIAA J. 4, 1966 (from memory).
        impulse *= 1.0 + arc**2 / 24.0
        in_air = self._altitude(state.r) < 0.9 * self.mission.floor
        falling = np.einsum("ij,ij->i", state.r, state.v) < 0.0
        cost: Floats = np.where(in_air | falling | (energy > 0.0), np.inf, impulse)
        return cost

    def _tilt(self, momentum: Floats, h: Floats) -> Floats:
        """Angle (n) in rad between the inclination flown and the one wanted."""
        inclination = self.mission.orbit.inclination
        if inclination is None:
            return np.zeros(len(h))
        tilt: Floats = np.abs(np.arccos(np.clip(momentum[:, 2] / h, -1.0, 1.0)) - inclination)
        return tilt

    def _watch(self, state: _State, direction: Floats) -> None:
        """Note the limits exceeded, crashes, and drop the fairing where it may be."""
        height = self._altitude(state.r)
        state.worst("ground", np.maximum(self.mission.site.altitude - 1.0 - height, 0.0) / 1e3)
        air, limits = self.mission.body.atmosphere, self.mission.limits
        if air is None:
            return
        relative = self._through_air(state.r, state.v)
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
                state.worst(name, np.maximum(load / limit - 1.0, 0.0))
        fairing = self.vehicle.fairing
        if fairing is not None:
            cool = (0.5 * density * speed**3 < fairing.max_heating) & (height > 0.3 * air.ceiling)
            state.fairing = np.where(cool, 0.0, state.fairing)

    def _check_staging(self, state: _State) -> None:
        air, limit = self.mission.body.atmosphere, self.mission.limits.staging_dynamic_pressure
        if air is None or limit is None:
            return
        speed = np.linalg.norm(self._through_air(state.r, state.v), axis=1)
        pressure = 0.5 * air.density(self._altitude(state.r)) * speed**2
        state.worst("staging q", np.maximum(pressure / limit - 1.0, 0.0))
