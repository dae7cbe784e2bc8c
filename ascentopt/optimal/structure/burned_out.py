"""Orbits so high that every burn from the pad on is over before a flight could be there."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf, log, sqrt

from ascentopt.mission import Mission
from ascentopt.rocket import Engine, SolidMotor, Vehicle
from ascentopt.rocket.performance import Burn, burns
from ascentopt.typing import Floats
from ascentopt.units import km

INTEGRATED = 1e-4
"""Share of the height to which the integration is trusted: what is so near may be in the orbit."""


@dataclass(frozen=True)
class Gains:
    """The speed that engines can have given by any time.

    Attributes:
        speed: m/s at the pad, and all that may come at once.
        stretches: (m/s^2, s) of the rest, the fastest first.
    """

    speed: float
    stretches: tuple[tuple[float, float], ...]

    def by(self, time: float) -> float:
        """In m/s at a time in s."""
        speed = self.speed
        for rate, length in self.stretches:
            speed += rate * min(max(time, 0.0), length)
            time -= length
        return speed


def burned_out_below(vehicle: Vehicle, mission: Mission) -> str | None:
    """Why no flight without a coast of free length reaches the orbit; None where one may.

    Let w(t)^2 / 2 be the energy of the flight above that of rest at the ground, its lowest place.
    Thrust a changes it by a . v, and |v| <= w, so w grows by no more than a. Whatever is burned
    when, with no fairing aboard w is at most the speed of the `Gains`. So no flight is higher at
    any time than r(t) with dr/dt = sqrt(w^2 - 2 mu (1/ground - 1/r)), and when everything is
    burned that may be too low. The body counts as a sphere.
    """
    body = mission.body
    lowest = mission.orbit.periapsis_radius_around(body)
    if lowest is None:
        return None
    ground, bare = body.radius + mission.site.altitude, replace(vehicle, fairing=None)
    gains = gains_of(bare, abs(body.rotation_rate) * ground)
    mu, time = body.gravitational_parameter, _longest_burn(vehicle)
    reach = greatest_radius(mu, ground, gains, time, enough=lowest)
    if reach + INTEGRATED * (reach - ground) >= lowest:
        return None
    return (
        f"not solved for: straight up, as fast as its engines gain speed, it would be at "
        f"{(reach - body.radius) / km:.0f} km when it has burned all, after "
        f"{time:.0f} s at most"
    )


def gains_of(vehicle: Vehicle, speed: float) -> Gains:
    """What a vehicle that has a ``speed`` in m/s at the pad can gain by when.

    At constant thrust a vehicle gains ever faster as it grows lighter, so what a burn has given by
    a time is below its mean rate times the time. However burns share the time out, the fastest
    first is the most. What may be shared out otherwise is counted as if it came at once: a solid
    motor's curve may fall, and a core throttled beside its boosters has more when they are gone.
    """
    own = burns(vehicle)
    first = own[: len(own) - len(vehicle.stages) + 1]
    solid = any(isinstance(engine, SolidMotor) for engine in _first_engines(vehicle))
    steady: list[Burn] = []
    if vehicle.boosters and vehicle.stages[0].engine.min_throttle < 1.0:
        speed += _one_after_the_other(vehicle)
    elif solid:
        speed += sum(burn.delta_v for burn in first)
    else:
        steady += first
    for burn, stage in zip(own[len(first) :], vehicle.stages[1:], strict=True):
        if isinstance(stage.engine, SolidMotor):
            speed += burn.delta_v
        else:
            steady.append(burn)
    stretches = ((burn.delta_v / burn.duration, burn.duration) for burn in steady)
    return Gains(speed, tuple(sorted(stretches, reverse=True)))


def _first_engines(vehicle: Vehicle) -> tuple[Engine | SolidMotor, ...]:
    return (vehicle.stages[0].engine, *(group.engine for group in vehicle.boosters))


def _one_after_the_other(vehicle: Vehicle) -> float:
    """Speed in m/s if the boosters burned first and then the core, at the best exhaust speed."""
    exhaust = max(one.mean_thrust / one.mass_flow for one in _first_engines(vehicle))
    whole, core = vehicle.lift_off_mass, vehicle.stages[0]
    burned = sum(group.count * group.propellant_mass for group in vehicle.boosters)
    alone = whole - sum(group.mass for group in vehicle.boosters)
    ends = alone - core.propellant_mass
    return exhaust * (log(whole / (whole - burned)) + log(alone / ends))


def _longest_burn(vehicle: Vehicle) -> float:
    """From lift-off to the end of the last stage at the least throttle, in s."""
    stages = vehicle.stages
    return sum(one.ignition_delay + one.burn_time / one.engine.min_throttle for one in stages)


def greatest_radius(
    mu: float, ground: float, gains: Gains, time: float, *, enough: float = inf
) -> float:
    """Radius in m that no flight from the ground radius (m) is above at a time in s.

    Nothing sinks here, so it is followed no further than to a radius that is ``enough``.
    """
    from scipy.integrate import RK45

    def climb(at: float, radius: Floats) -> list[float]:
        square = gains.by(at) ** 2 - 2.0 * mu * (1.0 / ground - 1.0 / radius[0])
        return [sqrt(max(square, 0.0))]

    longest = time / 200.0  # the corners of the gains cost no more than the tolerance
    flight = RK45(climb, 0.0, [ground], time, rtol=1e-8, max_step=longest)
    while flight.status == "running" and flight.y[0] < enough:
        flight.step()
    return float(flight.y[0])
