"""One of each kind of result that is kept in a file, small ones: few samples of each flight."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import lru_cache
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.flight.results.trajectory import TrajectoryArc
from ascentopt.studies.maps.axis import Axis
from ascentopt.units import deg, km
from tests.rules.pebble import MISSION, relit


@dataclass(frozen=True, kw_only=True)
class Kept:
    """A result, how it is saved and how it is loaded again."""

    result: Any
    save: Callable[[Path], None]
    load: Callable[[Path], Any]

    @classmethod
    def of(cls, result: Any) -> Kept:
        return cls(result=result, save=result.save, load=type(result).load)


KINDS = (
    "ascent", "comparison", "outcome", "map", "programme", "deorbit", "payload", "sizing", "table",
    "flights",
)  # fmt: skip


@lru_cache(maxsize=1)
def flown() -> ao.Ascent:
    """As it was solved for."""
    return ao.optimize(relit(0, 1), MISSION)


@lru_cache(maxsize=1)
def kept() -> dict[str, Kept]:
    """By name, as in `KINDS`."""
    ascent = flown()
    chosen = ao.Catalogue(rules=(ao.KickRule(),), insertions=(ao.Circularise(),))
    comparison = ao.compare(ascent.vehicle, ascent.mission, ascent=ascent, catalogue=chosen)
    best = comparison.best_rule
    assert best is not None
    start = ao.orbiting(ascent)
    home = ao.deorbit(replace(start, restarts=1), periapsis_altitude=20 * km)
    scatter = [ao.IspDispersion("upper", ao.Normal(0.002))]
    found = (
        ascent, comparison, best, cost_map(), ao.simplify(ascent, knots=4), home, payload(ascent),
        sizing(ascent), ascent.steering, ao.disperse(ascent, scatter, count=3),
    )  # fmt: skip
    return {name: Kept.of(thinned(one)) for name, one in zip(KINDS, found, strict=True)}


def tank() -> ao.Holder:
    return ao.Holder(kind=ao.HeldBy.TANK, what="the propellant", unit="kg", payload=1.1)


def payload(ascent: ao.Ascent) -> ao.MaxPayload:
    return ao.MaxPayload(
        payload=900.0, reserve=10.0, surplus=0.1, held_by=tank(), ascent=ascent
    )


def sizing(ascent: ao.Ascent) -> ao.Sizing:
    """As if its last stage were the best; with a number that is not known."""
    vehicle, one = ascent.vehicle, ascent.vehicle.stages[-1]
    load = one.propellant_mass
    cost = ao.LinearCost(stages=[ao.StageCost(stage=one.name, per_dry_mass=3.0)], fixed=2.0)
    number = ao.SizedNumber(
        quantity=f"{one.name}: propellant", unit="kg", least=0.5 * load, most=load, given=load,
        value=load, payload=0.1, cost=1.05, price=np.nan,
    )  # fmt: skip
    return ao.Sizing(
        given=vehicle,
        objective=ao.LeastCost(cost=cost),
        laws=(ao.StructuralLaw.through(vehicle, one.name, per_propellant=0.05),),
        numbers=(number,),
        value=cost.of(vehicle),
        exchange=np.nan,
        objective_slope=np.nan,
        kept=0.1,
        ascent=ascent,
        settled=True,
        history=("as it was",),
    )


def cost_map() -> ao.CostMap:
    used = np.array([[9000.0, 9001.5, np.nan], [9003.0, np.nan, 9002.0]])
    return ao.CostMap(
        rule="gravity turn from a kick, coast and circularise",
        across=Axis(name="kick angle", unit="rad", values=np.array([1.0, 2.0, 3.0]) * deg),
        upward=Axis(name="kick speed", unit="m/s", values=np.array([30.0, 60.0])),
        propellant_used=used,
        optimum=8990.0,
        excess=np.where(np.isnan(used), np.nan, -0.1),
        flown=(0,),
        reasons=(("", "", "too flat"), ()),
    )


def thinned(value: Any) -> Any:
    """The same with a few samples of each arc."""
    if isinstance(value, TrajectoryArc):
        rows = np.unique(np.linspace(0, len(value.times) - 1, 3).astype(int))
        arrays = ("times", "states", "directions", "throttle", "readings")
        return replace(value, **{name: getattr(value, name)[rows] for name in arrays})
    if isinstance(value, tuple):
        return tuple(map(thinned, value))
    if not is_dataclass(value) or isinstance(value, type):
        return value
    own = {one.name: getattr(value, one.name) for one in fields(value) if one.init}
    less = {name: thinned(part) for name, part in own.items()}
    changed = {name: part for name, part in less.items() if part is not own[name]}
    return replace(value, **changed) if changed else value
