"""Results as JSON objects: numbers in SI base units, null for what is not known."""

from __future__ import annotations

import json
from dataclasses import asdict, fields
from math import isfinite
from typing import Any

from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.certificate import Certificate
from ascentopt.studies.comparison.comparison import Comparison
from ascentopt.studies.comparison.outcome import RuleOutcome

Json = dict[str, Any]


def json_text(data: Json) -> str:
    """One object, as strict JSON."""
    return json.dumps(_strict(data), indent=2, allow_nan=False)


def told_of_ascent(ascent: Ascent) -> Json:
    """What it costs, when what happens, where the delta-v went, and why to trust it."""
    return {
        "vehicle": ascent.vehicle.name,
        "body": ascent.mission.body.name,
        "orbit": str(ascent.mission.orbit),
        "structure": str(ascent.plan),
        "verdict": ascent.certificate.verdict.name.lower(),
        "propellant_used": ascent.propellant_used,
        "propellant_margin": ascent.propellant_margin,
        "final_mass": ascent.final_mass,
        "ballast": ascent.ballast,
        "flight_time": ascent.flight_time,
        "lift_off_time": ascent.mission.lift_off_time,
        "events": [asdict(event) for event in ascent.events],
        "delta_v": asdict(ascent.budget),
        "certificate": _told_of_certificate(ascent.certificate),
        "partials": [asdict(row) for row in ascent.partials],
    }


def told_of_comparison(comparison: Comparison) -> Json:
    """The optimum and the rules, the cheapest first."""
    return {
        "optimum": told_of_ascent(comparison.ascent),
        "rules": [_told_of_rule(one) for one in comparison.outcomes],
    }


def _told_of_certificate(certificate: Certificate) -> Json:
    numbers = {
        one.name: value
        for one in fields(certificate)
        if isinstance(value := getattr(certificate, one.name), float)
    }
    return {**numbers, "beyond": list(certificate.beyond())}


def _told_of_rule(one: RuleOutcome) -> Json:
    plain = ("rule", "insertion", "tuned", "propellant_used", "penalty", "penalty_of_margin",
             "peak_dynamic_pressure", "peak_q_alpha", "remark")  # fmt: skip
    return {
        **{name: getattr(one, name) for name in plain},
        "parameters": {parameter.name: parameter.value for parameter in one.parameters},
        "broken_limits": [str(limit) for limit in one.broken],
    }


def _strict(value: Any) -> Any:
    """Without numbers that JSON does not have."""
    if isinstance(value, dict):
        return {key: _strict(one) for key, one in value.items()}
    if isinstance(value, list | tuple):
        return [_strict(one) for one in value]
    if isinstance(value, float):
        return float(value) if isfinite(value) else None
    return value
