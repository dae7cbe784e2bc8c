"""One ordinary mission for each seed: the same for ever, whatever the library thinks of it."""

from __future__ import annotations

import warnings
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, replace
from math import pi

from ascentopt.errors import InputError, UnusualInputWarning
from ascentopt.mission import FlightLimits, Mission, Orbit
from ascentopt.rocket import Engine, Vehicle
from ascentopt.units import deg, km
from ascentopt.world import geocentric_latitude
from benchmarks.survey.bound import two_impulses
from benchmarks.survey.building import UnbuildableError, sized
from benchmarks.survey.draw import Draw
from benchmarks.survey.generator import LEAST_PUSH, MOST_PUSH, lift_off_push
from benchmarks.survey.ordinary.aims import Aim, draw_aim
from benchmarks.survey.ordinary.bodies import draw_place, draw_site
from benchmarks.survey.ordinary.rockets import Wish, limits_for
from benchmarks.survey.places import losses_estimate

FIRST = 100_000
"""Seed of the first case: no other block of the survey comes near."""

LEAST_SHARE, MOST_SHARE = 0.8, 1.4
"""Range of the ideal delta-v in shares of the estimated need."""

_LIGHT_GRAVITY = 2.5
"""m/s^2 below which rockets may have thrust to spare, up to `_LIGHT_PUSH` times their weight."""

_LIGHT_PUSH = 7.0

_SHARES, _ATTEMPTS = 40, 100
"""Rockets drawn for a share of the need before it is drawn anew, as too much to be built."""


@dataclass(frozen=True, kw_only=True)
class Ordinary:
    """A vehicle and what it is to reach; the mission is made when it is asked for.

    `plain` is a mission that any library takes, to the cheapest orbit of the same elements in a
    free plane; `bound` m/s is what no flight can do without; `features` say what is in the case.
    """

    seed: int
    vehicle: Vehicle
    plain: Mission
    aim: Aim
    bound: float
    label: str
    features: tuple[str, ...]

    @property
    def mission(self) -> Mission:
        """The mission. Raises `InputError` where the library does not take it."""
        with _as_drawn():
            return replace(self.plain, orbit=self.orbit)

    @property
    def orbit(self) -> Orbit:
        """The orbit. Raises `InputError` likewise."""
        return self.aim.orbit


def ordinary(seed: int) -> Ordinary:
    """Return the case of this seed."""
    with _as_drawn():
        return _drawn(seed)


@contextmanager
def _as_drawn() -> Iterator[None]:
    """Orbits just above the ground are drawn on purpose: nothing warns of them."""
    with warnings.catch_warnings():
        warnings.simplefilter("ignore", UnusualInputWarning)
        yield


def _drawn(seed: int) -> Ordinary:
    draw = Draw(seed)
    plain, aim = _where(draw)
    for _ in range(_SHARES):
        share = draw.uniform(LEAST_SHARE, MOST_SHARE)
        for _ in range(_ATTEMPTS):
            try:
                return _attempt(seed, draw, plain, aim, share)
            except (UnbuildableError, InputError):
                continue  # a bad rocket is drawn again, from the same stream
    raise RuntimeError(f"case {seed}: no vehicle was found in {_SHARES * _ATTEMPTS} draws")


def _where(draw: Draw) -> tuple[Mission, Aim]:
    """A mission made of what every library takes, so that nothing is drawn again, and the orbit."""
    place, site = draw_place(draw), draw_site(draw)
    latitude = geocentric_latitude(place.body, site.latitude, site.altitude)
    air = place.body.atmosphere
    floor = air.ceiling if air is not None else max(site.altitude, 0.0)
    aim = draw_aim(draw, place, latitude, floor)
    rise = None if draw.chance(0.1) else draw.uniform(30.0, 250.0)
    limits = FlightLimits.none()
    plain = Mission(
        body=place.body, site=site, orbit=aim.cheapest, limits=limits, vertical_rise=rise
    )
    return plain, aim


def _attempt(seed: int, draw: Draw, plain: Mission, aim: Aim, share: float) -> Ordinary:
    turns = below_latitude(plain, aim)
    light = plain.body.gravitational_parameter / plain.body.radius**2 < _LIGHT_GRAVITY
    needed = two_impulses(plain, aim.inclination)
    recipe = Wish(restart=turns or aim.distant, light=light).recipe(draw, plain, needed)
    needed += losses_estimate(plain, recipe.lift_off_thrust_to_weight)
    vehicle = sized(recipe, plain, share * needed)
    push = lift_off_push(vehicle, plain)
    if not LEAST_PUSH <= push <= (_LIGHT_PUSH if light else MOST_PUSH):
        raise UnbuildableError("lift-off thrust out of range")
    flown = replace(plain, limits=limits_for(draw, vehicle, plain, push))
    features = tuple(_features(vehicle, flown, aim))
    return Ordinary(
        seed=seed,
        vehicle=vehicle,
        plain=flown,
        aim=aim,
        # Where the plane turns, three impulses may do with less than two.
        bound=two_impulses(plain, None if turns else aim.inclination),
        label=_label(vehicle, flown, aim, share),
        features=features,
    )


def below_latitude(mission: Mission, aim: Aim) -> bool:
    """Whether the plane does not pass through the site."""
    site = mission.site
    least = abs(geocentric_latitude(mission.body, site.latitude, site.altitude))
    plane = aim.inclination
    return plane is not None and not least - 1e-9 <= plane <= pi - least + 1e-9


def _features(vehicle: Vehicle, mission: Mission, aim: Aim) -> list[str]:
    last, limit = vehicle.stages[-1], mission.limits.axial_acceleration
    gravity = mission.body.gravitational_parameter / mission.body.radius**2
    liquids = [stage.engine for stage in vehicle.stages if isinstance(stage.engine, Engine)]
    throttles = any(engine.min_throttle < 1.0 for engine in liquids)
    upper_weight = gravity * (last.mass + vehicle.payload_mass)
    told = {
        aim.kind: True,
        "plane below the latitude": below_latitude(mission, aim),
        "near a pole": abs(mission.site.latitude) > 80 * deg,
        "several restarts": last.restarts > 1,
        "lower stage restarts": any(stage.restarts for stage in vehicle.stages[:-1]),
        "fixed thrust under a limit on acceleration": limit is not None and not throttles,
        "throttle without a limit on acceleration": limit is None and throttles,
        "fast spin": mission.body.name == "Whirl",
        "small planet": mission.body.name == "Pebble",
        "low thrust": len(vehicle.stages) > 1 and last.engine.mean_thrust < 0.5 * upper_weight,
    }
    return [name for name, holds in told.items() if holds]


def _label(vehicle: Vehicle, mission: Mission, aim: Aim, share: float) -> str:
    stages = "+".join(
        f"{'liquid' if isinstance(stage.engine, Engine) else 'solid'}"
        f"{f'({stage.restarts})' if stage.restarts else ''}"
        for stage in vehicle.stages
    )
    boosters = "".join(f" +{group.count} boosters" for group in vehicle.boosters)
    plane = "free plane" if aim.inclination is None else f"{aim.inclination / deg:.1f} deg"
    size = f"{aim.low / km:.0f} km"
    if aim.low != aim.high:
        size = f"{aim.low / km:.0f} x {aim.high / km:.0f} km"
    return (
        f"{mission.body.name} from {mission.site.latitude / deg:.1f} deg, {stages}{boosters}, "
        f"{aim.kind} {size}, {plane}, {share:.2f} of the need"
    )
