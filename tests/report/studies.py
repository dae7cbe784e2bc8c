"""Comparisons, maps and programmes to draw: small ones, made of flights that were flown."""

from __future__ import annotations

from dataclasses import replace
from functools import lru_cache

import numpy as np

import ascentopt as ao
from ascentopt.flight.results.budget import DeltaVBudget
from ascentopt.flight.results.excess import Excess
from ascentopt.flight.results.flight import Flight
from ascentopt.rules.laws.parameter import Parameter
from ascentopt.steering.pitch_table import Against
from ascentopt.studies.comparison.outcome import RuleOutcome
from ascentopt.studies.maps.axis import Axis
from ascentopt.studies.maps.cost_map import CostMap
from ascentopt.studies.simplify.simpler import SimplerProgramme
from ascentopt.studies.sweep.points.grid import SweptName
from ascentopt.units import deg, km, kPa
from tests.report.flights import ByHand, launcher, mission, optimum


@lru_cache(maxsize=1)
def hand_flight() -> Flight:
    """What the law by hand flies."""
    return ao.fly(launcher(), mission(), ByHand())


def outcome(rule: str, penalty: float | None, *, tuned: bool = True) -> RuleOutcome:
    """An outcome with the flight by hand, and a penalty at will; None for no orbit."""
    reached = penalty is not None
    margin = optimum().propellant_margin
    return RuleOutcome(
        rule=rule,
        insertion="coast and circularise",
        tuned=tuned,
        parameters=(Parameter(name="kick angle", value=3.8 * deg, unit="rad"),),
        flight=hand_flight() if reached else None,
        propellant_used=optimum().propellant_used + penalty if penalty is not None else None,
        penalty=penalty,
        penalty_of_margin=penalty / margin if penalty is not None else None,
        peak_dynamic_pressure=33 * kPa if reached else None,
        peak_q_alpha=8 * kPa * deg if reached else None,
        remark="" if reached else "the flight sinks again before its apoapsis reaches the orbit",
    )


def comparison() -> ao.Comparison:
    """Four that reach the orbit, one of them beyond a limit, and two that do not."""
    broken = Excess(name="dynamic pressure", peak=52 * kPa, limit=40 * kPa, unit="Pa")
    return ao.Comparison(
        ascent=optimum(),
        outcomes=(
            outcome("gravity turn from a kick", 216.0),
            outcome("gravity turn from a kick", 322.5, tuned=False),
            replace(outcome("constant pitch rate", 410.25), broken=(broken,)),
            outcome("flight-path angle at an altitude", 1408.0, tuned=False),
            outcome("constant pitch rate", None, tuned=False),
            outcome("flight-path angle at an altitude", None),
        ),
    )


def nobody_arrives() -> ao.Comparison:
    """No rule reaches the orbit."""
    return ao.Comparison(ascent=optimum(), outcomes=(outcome("constant pitch rate", None),))


def budget(**parts: float) -> DeltaVBudget:
    """A budget of round numbers."""
    given = {"gravity": 1400.0, "drag": 100.0, "steering": 80.0, "back_pressure": 60.0, **parts}
    return DeltaVBudget(ideal=9000.0, speed_gained=7726.0, rotation=476.0, **given)


def cost_map(*, lost: bool = True, strict: bool = False) -> CostMap:
    """A bowl with its bottom, 247 kg, at 3 deg and 10 km; 40 kg a square degree, 5 a square km.

    `lost`: no orbit beyond 5 deg; `strict`: a limit that is broken below 3.6 deg.
    """
    angle, height = np.linspace(1.0, 6.0, 11), np.linspace(4.0, 16.0, 13)
    x, y = np.meshgrid(angle, height)
    penalty = 247.0 + 40.0 * (x - 3.0) ** 2 + 5.0 * (y - 10.0) ** 2
    if lost:
        penalty[x > 5.0] = np.nan
    edge = 3.6 if strict else 1.6
    return CostMap(
        rule="gravity turn from a kick, linear tangent",
        across=Axis(name="kick angle", unit="rad", values=angle * deg),
        upward=Axis(name="kick altitude", unit="m", values=height * km),
        propellant_used=71943.0 + penalty,
        optimum=71943.0,
        excess=0.2 * (edge - x),
    )


def programme(knots: int, penalty: float, against: Against = Against.TIME) -> SimplerProgramme:
    """Knots on the pitch of the flight by hand."""
    flight = hand_flight()
    times = np.linspace(20.0, 500.0, knots)
    there = flight.trajectory.at(times)
    where = times if against is Against.TIME else there.altitude
    return SimplerProgramme(
        law=ByHand(),
        knots=tuple((float(x), float(pitch)) for x, pitch in zip(where, there.pitch, strict=True)),
        against=against,
        flight=flight,
        propellant_used=optimum().propellant_used + penalty,
        penalty=penalty,
    )


def sweep(*, refused: bool = True, orbits: bool = False) -> ao.Sweep:
    """Six payloads by four altitudes with propellants by a formula; the heaviest are refused."""
    masses, heights = np.linspace(800.0, 1800.0, 6), np.linspace(200.0, 500.0, 4) * km
    answers = []
    for point, (mass, height) in enumerate((m, h) for m in masses for h in heights):
        left = float(900.0 - 0.5 * (mass - 800.0) - 0.8e-3 * (height - 2e5))
        flies = left > 260.0 or not refused
        answers.append(
            ao.SweepAnswer(
                point=point,
                serial=0,
                near=(),
                outcome=ao.PointOutcome.FLIES if flies else ao.PointOutcome.REFUSED,
                seconds=1.0,
                plan=_plan(height) if flies else "",
                propellant_margin=left if flies else None,
                shortfall=None if flies else 260.0 - left,
                reason="" if flies else "short by much",
            )
        )
    names = (
        SweptName(name="payload_mass", unit="kg"),
        SweptName(name="orbit", unit="") if orbits else SweptName(name="orbit.altitude", unit="m"),
    )
    second = [f"circle {k}" for k in range(4)] if orbits else [float(h) for h in heights]
    return ao.Sweep(
        vehicle=launcher(),
        mission=mission(),
        names=names,
        values=tuple((float(m), h) for m in masses for h in second),
        shape=(6, 4),
        answers=tuple(answers),
        solves=(1,) * 24,
        store="nowhere",
    )


def _plan(height: float) -> str:
    return "burn, coast, burn" if height > 350 * km else "direct insertion"
