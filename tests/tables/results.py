"""A result of every kind, of a stage that rises from the Moon: quick to solve for."""

from __future__ import annotations

from dataclasses import replace
from functools import cache

import ascentopt as ao
from ascentopt.flight.results.excess import Excess
from ascentopt.units import deg, km, kPa
from tests.optimal.launchers import lander, moon_mission


@cache
def ascent(name: str = "Sanderling", stage: str = "ascent") -> ao.Ascent:
    """The optimum, vehicle and stage named at will."""
    vehicle = lander()
    own = replace(vehicle.stages[0], name=stage)
    return ao.optimize(replace(vehicle, name=name, stages=(own,)), moon_mission())


@cache
def comparison() -> ao.Comparison:
    """A kick beside it, one way to insert that fits and one that does not."""
    kicks = ao.Catalogue(rules=(ao.KickRule(),), insertions=(ao.Circularise(), ao.HoldApoapsis()))
    best = ascent()
    return ao.compare(best.vehicle, best.mission, ascent=best, catalogue=kicks)


@cache
def cost_map() -> ao.CostMap:
    """Two rows of three cells; not all of them reach the orbit."""
    across, upward = [5.0 * deg, 45.0 * deg, 85.0 * deg], [20.0, 60.0]
    return ao.cost_map(ascent(), ao.KickRule(), ao.Circularise(), across=across, upward=upward)


@cache
def sweep() -> ao.Sweep:
    """Two that fly, and one that is too heavy."""
    return ao.sweep(lander(), moon_mission(), {"payload_mass": [900.0, 1000.0, 6000.0]})


@cache
def curve() -> ao.SimplerCurve:
    """Pitch programmes of three and four knots."""
    return ao.simplify_curve(ascent(), (3, 4))


@cache
def max_payload() -> ao.MaxPayload:
    """As if that payload were the greatest."""
    best = ascent()
    return ao.MaxPayload(
        payload=1000.0, reserve=0.0, surplus=best.propellant_margin, ascent=best,
        held_by=ao.Holder.unknown("nothing"),
    )  # fmt: skip


@cache
def dispersed() -> ao.DispersedFlights:
    """A few flights whose engine differs."""
    stage = ascent().vehicle.stages[0].name
    scatter = ao.ThrustDispersion(stage, ao.Normal(0.01)), ao.IspDispersion(stage, ao.Uniform(0.01))
    return ao.disperse(ascent(), scatter, count=12)


@cache
def sizing() -> ao.Sizing:
    """Of its only stage."""
    (stage,), held = lander().stages, lander().stages[0].propellant_mass
    free = [ao.FreePropellant(stage=stage.name, least=0.3 * held, most=2.0 * held)]
    laws = [ao.StructuralLaw.through(lander(), stage.name, per_propellant=0.05)]
    sought = ao.LeastLiftOffMass()
    return ao.size(lander(), moon_mission(), free=free, laws=laws, objective=sought)


def baseline() -> ao.Baseline:
    """With more cases than fit a line."""
    case = ao.BaselineCase.of(ascent())
    return ao.Baseline(dict.fromkeys(("lander", *(f"lander {n}" for n in range(40))), case))


def valley() -> ao.Valley:
    """One side of which does not fly."""
    return ao.Valley(step=0.1 * deg, smaller=12.5, larger=float("nan"))


def outcome_beyond_a_limit() -> ao.RuleOutcome:
    """An outcome that breaks one."""
    excess = Excess(name="dynamic pressure", peak=52 * kPa, limit=40 * kPa, unit="Pa")
    return replace(comparison().outcomes[0], broken=(excess,))


def pitch_table() -> ao.PitchTable:
    """Against the altimeter."""
    rows = ((0.0, 90 * deg), (20 * km, 30 * deg))
    plan = ao.FlightPlan(inserting_stage=0)
    return ao.PitchTable(plan=plan, against=ao.Against.ALTITUDE, rows=rows)


@cache
def deorbit() -> ao.Deorbit:
    """Down from an orbit that the lander has reached."""
    stage = replace(ao.orbiting(ascent()), restarts=1)
    return ao.deorbit(stage, periapsis_altitude=-50 * km)
