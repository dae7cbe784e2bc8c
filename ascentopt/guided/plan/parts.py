"""Numbers of a vehicle's parts with their deviations, for every draw."""

from __future__ import annotations

from dataclasses import dataclass, replace

import numpy as np

from ascentopt.errors import InputError
from ascentopt.flight.phases.arc_kind import ArcParameters
from ascentopt.flight.phases.hold_down import held_down
from ascentopt.flight.plan import FlightPlan
from ascentopt.guided.deviations import Deviations
from ascentopt.guided.plan.planned_arc import PlannedArc
from ascentopt.mission import Mission
from ascentopt.rocket import BoosterGroup, SolidMotor, Stage, Vehicle
from ascentopt.typing import Floats


@dataclass(frozen=True, eq=False)
class Side:
    """A group of boosters as N draws have it.

    Args:
        lit, out: (N,) s after lift-off; `out` when it is burnt out.
        gone: (N,) s after lift-off, when it is dropped.
        drop: (N,) kg that leave.
        steady: (N, 3) thrust, flow and exit area while it burns; a solid group's thrust and flow
            are a curve's, and zero here.
        rate, thrust, flow: (N,) of a solid group's clock, and factors on its curve.
    """

    lit: Floats
    out: Floats
    gone: Floats
    drop: Floats
    steady: Floats
    rate: Floats
    thrust: Floats
    flow: Floats


@dataclass(frozen=True, eq=False)
class Parts:
    """A vehicle on the pad of N draws.

    Args:
        vehicle: as it leaves the pad, ballast aboard.
        deviations: of the draws.
    """

    vehicle: Vehicle
    deviations: Deviations

    @classmethod
    def of(
        cls, vehicle: Vehicle, mission: Mission, plan: FlightPlan, deviations: Deviations
    ) -> Parts:
        """What leaves the pad. Raises `InputError` where a tank would hold nothing."""
        parts = cls(held_down(vehicle.with_ballast(plan.ballast or 0.0), mission), deviations)
        for place, part in enumerate(parts.named):
            least = float(parts._loads(place).min(initial=np.inf))
            if least <= 0.0:
                raise InputError(
                    f"Deviations: propellant leaves {part.name!r} with {least:.6g} kg; there must "
                    "be some. Give kg to be added to what the part holds."
                )
        return parts

    @property
    def count(self) -> int:
        """N."""
        return len(self.deviations)

    @property
    def named(self) -> list[Stage | BoosterGroup]:
        """Stages from below, then groups of boosters."""
        return [*self.vehicle.stages, *self.vehicle.boosters]

    def _loads(self, place: int) -> Floats:
        """(N,) kg of propellant in one part."""
        part = self.named[place]
        return part.propellant_mass + self.deviations.propellant[:, place]

    def _share(self, place: int) -> Floats:
        """(N,) of the nominal propellant."""
        return self._loads(place) / self.named[place].propellant_mass

    def load(self, stage: int) -> Floats:
        """(N,) kg of propellant in a stage."""
        return self._loads(stage)

    def added_above(self, stage: int) -> Floats:
        """(N,) kg more than described in what stands on a stage."""
        own = self.deviations
        stages = slice(stage + 1, len(self.vehicle.stages))
        return np.asarray(own.payload + (own.dry_mass + own.propellant)[:, stages].sum(axis=1))

    def added(self) -> Floats:
        """(N,) kg more than described at lift-off."""
        own, first = self.deviations, len(self.vehicle.stages)
        added = self.added_above(-1)
        for k, group in enumerate(self.vehicle.boosters, first):
            added = added + group.count * (own.dry_mass[:, k] + own.propellant[:, k])
        return np.asarray(added)

    def sides(self) -> tuple[Side, ...]:
        """The groups of boosters."""
        first = len(self.vehicle.stages)
        return tuple(self._side(first + k) for k in range(len(self.vehicle.boosters)))

    def _side(self, place: int) -> Side:
        own, group = self.deviations, self.vehicle.boosters[place - len(self.vehicle.stages)]
        engine, count = group.engine, float(group.count)
        thrust, share = own.thrust[:, place], self._share(place)
        solid = isinstance(engine, SolidMotor)
        burn = group.burn_time * own.isp[:, place] / thrust * (1.0 if solid else share)
        power = thrust * share if solid else thrust
        steady = np.array([
            0.0 if solid else count * engine.mean_thrust,
            0.0 if solid else count * engine.mass_flow,
            count * engine.effective_exit_area,
        ]) * power[:, None]
        steady[:, 1] /= own.isp[:, place]
        out = group.ignition_time + burn
        return Side(
            lit=np.full(self.count, group.ignition_time),
            out=out,
            gone=out + own.separation_delay[:, place],
            drop=count * (group.dry_mass + own.dry_mass[:, place]),
            steady=steady,
            rate=thrust / own.isp[:, place],
            thrust=power,
            flow=power / own.isp[:, place],
        )

    def arc(self, planned: PlannedArc) -> ArcNumbers:
        """The numbers of an arc."""
        arc, own = planned.arc, self.deviations
        thrust, isp = own.thrust[:, arc.stage], own.isp[:, arc.stage]
        share = self._share(arc.stage)
        power = thrust * share if planned.solid else thrust
        nominal = arc.parameters
        lit = np.full(self.count, nominal.core_ignition)
        if arc.kind.core_by_mass:
            lit = lit + self.added_above(arc.stage - 1)
        numbers = replace(
            ArcParameters[Floats].of(arc.kind, np.tile(arc.numbers, (self.count, 1)).T),
            thrust=nominal.thrust * power,
            mass_flow=nominal.mass_flow * power / isp,
            exit_area=nominal.exit_area * power,
            drag_factor=nominal.drag_factor * own.drag,
            normal_force_slope=nominal.normal_force_slope * own.normal_force,
            core_ignition=lit,
            side_thrust=np.zeros(self.count),
            side_mass_flow=np.zeros(self.count),
            side_exit_area=np.zeros(self.count),
        )
        groups = [g for g, one in enumerate(self.vehicle.boosters) if _burns_in(one, planned)]
        curves = [g for g in groups if isinstance(self.vehicle.boosters[g].engine, SolidMotor)]
        return ArcNumbers(
            numbers=np.stack(numbers.numbers, axis=1),
            rate=thrust / isp,
            share=share,
            groups=tuple(groups),
            curves=tuple(curves),
        )


def _burns_in(group: BoosterGroup, planned: PlannedArc) -> bool:
    """Whether boosters burn in the middle of an arc, as planned."""
    middle = planned.began + 0.5 * planned.length
    return bool(planned.with_boosters and group.ignition_time < middle < group.burn_out_time)


@dataclass(frozen=True, eq=False)
class ArcNumbers:
    """An arc's numbers for N draws, the boosters' left out.

    Args:
        numbers: (N, n) in the order of `ArcKind.numbers`.
        rate, share: (N,) of a solid core's clock, and of its propellant.
        groups: indices of the boosters that burn in the arc.
        curves: those of them that are solid, in the order of the kind's side curves.
    """

    numbers: Floats
    rate: Floats
    share: Floats
    groups: tuple[int, ...]
    curves: tuple[int, ...]

    def now(
        self, sides: tuple[Side, ...], time: Floats, chosen: np.ndarray
    ) -> tuple[Floats, Floats]:
        """Numbers and motors of some draws at a time (N,), the boosters that burn among them."""
        numbers = self.numbers[chosen].copy()
        motors = [self.rate[chosen], self.share[chosen]]
        for g in self.groups:
            side = sides[g]
            burns = (time >= side.lit[chosen] - _SLIVER) & (time < side.out[chosen] - _SLIVER)
            numbers[:, 3:6] += burns[:, None] * side.steady[chosen]
            if g in self.curves:
                motors += [
                    side.rate[chosen], burns * side.thrust[chosen], burns * side.flow[chosen]
                ]
        return numbers, np.stack(motors, axis=1)


_SLIVER = 1e-9  # s

