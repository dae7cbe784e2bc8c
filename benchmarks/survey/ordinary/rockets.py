"""Rockets of ordinary missions: the first family's, with what that never drew."""

from __future__ import annotations

from dataclasses import dataclass, replace

from ascentopt.mission import FlightLimits, Mission
from ascentopt.rocket import Vehicle
from ascentopt.rocket.performance import burns
from benchmarks.survey.draw import Draw
from benchmarks.survey.limits import draw_limits
from benchmarks.survey.rockets import SOLID, StageDraw, VehicleDraw, draw_vehicle


@dataclass(frozen=True, kw_only=True)
class Wish:
    """What a mission wants of its rocket: engines that light again, and thrust to spare or not."""

    restart: bool
    light: bool

    def recipe(self, draw: Draw, mission: Mission, needed: float) -> VehicleDraw:
        """All but the size of a vehicle."""
        plain = draw_vehicle(draw, mission, needed)
        count, last = len(plain.stages), plain.stages[-1]
        stages = [_lower(draw, stage) for stage in plain.stages[:-1]]
        last = replace(last, restarts=self._restarts(draw))
        if count > 1 and draw.chance(0.35):
            last = _weak(draw, last)
        stages.append(last)
        if self.light and draw.chance(0.6) and stages[0].propellant is not SOLID:
            stages[0] = replace(stages[0], thrust_to_weight=draw.uniform(2.0, 6.0))
        return replace(plain, stages=tuple(stages))

    def _restarts(self, draw: Draw) -> int:
        if self.restart and draw.chance(0.92):
            return draw.weighted(((0.4, 1), (0.35, 2), (0.25, 3)))
        return draw.weighted(((0.35, 0), (0.3, 1), (0.2, 2), (0.15, 3)))


def _lower(draw: Draw, stage: StageDraw) -> StageDraw:
    """A stage below the last; one liquid in four can be lit again."""
    again = draw.chance(0.25)
    times = draw.whole(1, 2)
    return stage if stage.propellant is SOLID or not again else replace(stage, restarts=times)


def _weak(draw: Draw, stage: StageDraw) -> StageDraw:
    """Thrust of a tenth to half its weight, and less of the work: such a stage burns for long."""
    weight = stage.weight * draw.uniform(0.35, 0.8)
    return replace(stage, thrust_to_weight=draw.uniform(0.1, 0.5), weight=weight)


def limits_for(draw: Draw, vehicle: Vehicle, mission: Mission, push: float) -> FlightLimits:
    """The first family's limits, or none; one on acceleration whether engines throttle or not."""
    if draw.chance(0.25):
        return FlightLimits()
    limits = draw_limits(draw, vehicle, mission, push)
    return replace(limits, axial_acceleration=_axial(draw, vehicle))


def _axial(draw: Draw, vehicle: Vehicle) -> float | None:
    """Between what the vehicle must do somewhere and what it does at most at full thrust.

    Where nothing throttles it is kept by cutting a stage off before it is empty, and by that alone.
    """
    share, wanted = draw.uniform(0.3, 1.2), draw.chance(0.45)
    told = burns(vehicle)
    floor = 1.2 * max(burn.thrust / burn.initial_mass for burn in told)
    most = max(burn.thrust / burn.final_mass for burn in told)
    return floor + share * (most - floor) if wanted and most > floor else None
