"""Random vehicles, all but their size."""

from __future__ import annotations

from dataclasses import dataclass

from ascentopt.mission import Mission
from ascentopt.rocket import DragCurve
from ascentopt.units import SEA_LEVEL_PRESSURE, STANDARD_GRAVITY
from benchmarks.survey.draw import Draw


@dataclass(frozen=True, kw_only=True)
class Propellant:
    """What a kind of propellant gives: ranges of vacuum Isp (s), sea-level share, dry share."""

    name: str
    isp: tuple[float, float]
    sea_level: tuple[float, float]
    dry: tuple[float, float]


# Textbook ranges, from memory; no engine in particular.
STORABLE = Propellant(name="storable", isp=(298, 325), sea_level=(0.84, 0.9), dry=(0.06, 0.11))
KEROSENE = Propellant(name="kerosene", isp=(305, 350), sea_level=(0.84, 0.92), dry=(0.055, 0.1))
METHANE = Propellant(name="methane", isp=(330, 372), sea_level=(0.84, 0.91), dry=(0.06, 0.11))
HYDROGEN = Propellant(name="hydrogen", isp=(425, 460), sea_level=(0.79, 0.87), dry=(0.085, 0.14))
SOLID = Propellant(name="solid", isp=(268, 295), sea_level=(0.85, 0.92), dry=(0.075, 0.13))

# Thrust curves as shares of the burn time and of the mean thrust; scaled to the impulse later.
SHAPES = (
    ((0.0, 0.1, 0.6, 0.9, 1.0), (0.97, 1.1, 1.02, 0.8, 0.35)),
    ((0.0, 0.3, 0.5, 0.8, 1.0), (1.15, 1.2, 0.85, 0.95, 0.6)),
    ((0.0, 0.5, 1.0), (0.9, 1.05, 1.0)),
)
_DRAG = DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)


@dataclass(frozen=True, kw_only=True)
class StageDraw:
    """A stage as shares: `weight` of the delta-v, `dry` mass per stage mass, thrust per weight."""

    propellant: Propellant
    isp: float
    sea_level: float | None
    dry: float
    weight: float
    thrust_to_weight: float
    min_throttle: float = 1.0
    restarts: int = 0
    ignition_delay: float = 0.0
    shape: int = 0

    @property
    def exhaust_speed(self) -> float:
        """Vacuum exhaust speed in m/s."""
        return STANDARD_GRAVITY * self.isp


@dataclass(frozen=True, kw_only=True)
class BoosterDraw:
    """A group of boosters in shares of the core: propellant, and start and burn of its clock."""

    propellant: Propellant
    isp: float
    sea_level: float
    dry: float
    count: int
    share: float
    start: float
    burn: float
    shape: int = 0


@dataclass(frozen=True, kw_only=True)
class VehicleDraw:
    """A vehicle before its size is known."""

    payload_mass: float
    fairing_share: float
    stages: tuple[StageDraw, ...]
    boosters: tuple[BoosterDraw, ...]
    drag: float | DragCurve
    normal_force_slope: float

    @property
    def lift_off_thrust_to_weight(self) -> float:
        """What was drawn for the pad, in the weight of the body launched from."""
        return self.stages[0].thrust_to_weight


def draw_vehicle(draw: Draw, mission: Mission, needed: float) -> VehicleDraw:
    """Choose all but the size of a vehicle for a mission that needs about `needed` m/s."""
    airless = mission.body.atmosphere is None
    count = _draw_stage_count(draw, needed)
    stages = [_draw_first(draw, mission, count)]
    stages += [_draw_upper(draw, index == count - 1) for index in range(1, count)]
    boosters = () if count == 1 or needed < 3000.0 else _draw_boosters(draw, stages[0], mission)
    fairing = 0.0 if airless or draw.chance(0.3) else draw.uniform(0.04, 0.2)
    drag = draw.uniform(0.2, 0.6) if draw.chance(0.4) else _scaled_drag(draw.uniform(0.8, 1.4))
    return VehicleDraw(
        payload_mass=draw.log_uniform(50.0, 50e3),
        fairing_share=fairing,
        stages=tuple(stages),
        boosters=boosters,
        drag=drag,
        normal_force_slope=draw.one_of((0.0, 0.0, draw.uniform(1.5, 4.0))),
    )


def _scaled_drag(factor: float) -> DragCurve:
    return DragCurve(mach=_DRAG.mach, cd=tuple(factor * value for value in _DRAG.cd))


def _draw_stage_count(draw: Draw, needed: float) -> int:
    if needed < 2600.0:
        return draw.weighted(((0.5, 1), (0.4, 2), (0.1, 3)))
    if needed < 5500.0:
        return draw.weighted(((0.2, 1), (0.5, 2), (0.25, 3), (0.05, 4)))
    return draw.weighted(((0.45, 2), (0.4, 3), (0.15, 4)))


def _draw_first(draw: Draw, mission: Mission, count: int) -> StageDraw:
    kinds = [(0.15, STORABLE), (0.35, KEROSENE), (0.2, METHANE), (0.12, HYDROGEN)]
    if count > 1:  # a solid motor cannot stop in the orbit, so never the last stage
        kinds.append((0.18, SOLID))
    propellant = draw.weighted(kinds)
    solid = propellant is SOLID
    air = mission.body.atmosphere
    ambient = air.pressure(mission.site.altitude) if air is not None else 0.0
    sea_level = draw.uniform(*propellant.sea_level)
    if ambient > 1.2 * SEA_LEVEL_PRESSURE:  # nozzles for dense air are short
        sea_level = draw.uniform(0.93, 0.97)
    return StageDraw(
        propellant=propellant,
        isp=draw.uniform(*propellant.isp),
        sea_level=sea_level if draw.chance(0.9) or air is not None else None,
        dry=draw.uniform(*propellant.dry),
        weight=draw.uniform(0.75, 1.25),
        thrust_to_weight=draw.uniform(1.2, 2.4 if solid else 2.0),
        min_throttle=_draw_throttle(draw, solid=solid),
        restarts=draw.whole(0, 1) if count == 1 else 0,
        shape=draw.whole(0, len(SHAPES) - 1),
    )


def _draw_throttle(draw: Draw, *, solid: bool) -> float:
    return 1.0 if solid or draw.chance(0.5) else draw.uniform(0.4, 1.0)


def _draw_upper(draw: Draw, last: bool) -> StageDraw:  # noqa: FBT001
    kinds = [(0.25, STORABLE), (0.25, KEROSENE), (0.2, METHANE), (0.3, HYDROGEN)]
    if not last:
        kinds.append((0.2, SOLID))
    propellant = draw.weighted(kinds)
    solid = propellant is SOLID
    push = draw.uniform(1.0, 2.0) if solid else draw.uniform(0.3 if last else 0.55, 1.2)
    return StageDraw(
        propellant=propellant,
        isp=min(draw.uniform(*propellant.isp) + 10.0, 465.0),
        sea_level=None if draw.chance(0.6) else draw.uniform(0.3, 0.8),
        dry=draw.uniform(*propellant.dry) * draw.uniform(1.0, 1.3),
        weight=draw.uniform(0.75, 1.25),
        thrust_to_weight=push,
        min_throttle=_draw_throttle(draw, solid=solid),
        restarts=draw.whole(0, 1) if last else 0,
        ignition_delay=0.0 if draw.chance(0.5) else draw.uniform(1.0, 8.0),
        shape=draw.whole(0, len(SHAPES) - 1),
    )


def _draw_boosters(draw: Draw, core: StageDraw, mission: Mission) -> tuple[BoosterDraw, ...]:
    """None, one group, or two that burn together or one after the other."""
    count = draw.weighted(((0.65, 0), (0.22, 1), (0.13, 2)))
    in_turn = draw.chance(0.5)
    groups: list[BoosterDraw] = []
    for _ in range(count):
        start = groups[0].start + groups[0].burn if groups and in_turn else 0.0
        burn = draw.uniform(0.25, 0.45 if in_turn else 0.9)
        groups.append(_draw_group(draw, core, start, burn))
    return tuple(groups)


def _draw_group(draw: Draw, core: StageDraw, start: float, burn: float) -> BoosterDraw:
    propellant = draw.weighted(((0.6, SOLID), (0.2, KEROSENE), (0.2, STORABLE)))
    # In dense air the core's short nozzle sets the tone.
    high = core.sea_level if core.sea_level is not None and core.sea_level > 0.92 else None
    return BoosterDraw(
        propellant=propellant,
        isp=draw.uniform(*propellant.isp),
        sea_level=draw.uniform(*propellant.sea_level) if high is None else high,
        dry=draw.uniform(*propellant.dry),
        count=draw.whole(1, 3) * 2 if draw.chance(0.8) else 3,
        share=draw.uniform(0.15, 1.0) * burn / 0.5,
        start=start,
        burn=burn,
        shape=draw.whole(0, len(SHAPES) - 1),
    )
