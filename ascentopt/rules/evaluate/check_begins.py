"""Whether a rule's steering can begin on a mission, looked at before anything is flown."""

from __future__ import annotations

from math import isfinite

from ascentopt.arguments import asked
from ascentopt.errors import InputError
from ascentopt.flight.compiled.failures import CompiledFlightError
from ascentopt.flight.guidance.moment import Moment
from ascentopt.flight.guidance.surroundings import Surroundings
from ascentopt.flight.plan import FlightPlan
from ascentopt.rules.laws.rule import Pad, Rule, RuleDirection
from ascentopt.steering.programme import Phase, Programme
from ascentopt.validation import finite


def check_begins(rule: Rule, pad: Pad) -> None:
    """Ask the rule for its phases with nominal numbers, and for the direction on the pad.

    Where no flight has such numbers nothing is said: the outcome will say it.

    Raises:
        InputError: names the rule, what it returned, and what it must return.
    """
    try:
        owner = f"rule {rule.name!r}"
        values = asked(owner, "nominal", rule.nominal, pad)
        for numbers in (values, asked(owner, "habitual", rule.habitual, pad)):
            _check_values(rule, numbers)
        steps = asked(owner, "steps", rule.steps, values, pad)
    except CompiledFlightError:
        return
    _check_direction(rule, _law(rule, steps, pad), pad)


def _check_values(rule: Rule, values: object) -> None:
    if not isinstance(values, tuple) or len(values) != len(rule.open):
        raise InputError(
            f"rule {rule.name!r}: its habitual or nominal numbers are {values!r}; there must be as "
            f"many as open ones, {len(rule.open)}. Return a tuple."
        )
    for one, value in zip(rule.open, values, strict=True):
        finite(f"rule {rule.name!r}", one.name, value, one.unit, "Mend its habitual or nominal.")
        if not isfinite(value) or (one.low > 0.0 and value <= 0.0):
            kind = "positive" if one.low > 0.0 else "finite"
            raise InputError(
                f"rule {rule.name!r}: it begins with {one.name} {value!r} {one.unit}; that must be "
                f"{kind}. Mend its habitual or nominal."
            )


def _law(rule: Rule, steps: object, pad: Pad) -> Programme:
    if not isinstance(steps, tuple) or not all(isinstance(one, Phase) for one in steps):
        raise InputError(
            f"rule {rule.name!r}: steps returned {steps!r}; it must be a tuple of ao.Phase. Return "
            "(ao.Phase(formula=..., until=...), ..., ao.Phase(formula=...))."
        )
    try:
        return Programme(plan=FlightPlan(inserting_stage=pad.sequence.arcs[-1].stage), steps=steps)
    except InputError as fault:
        raise InputError(f"rule {rule.name!r}: {fault}") from None


def _check_direction(rule: Rule, law: Programme, pad: Pad) -> None:
    """Of the first phase, where the rule itself says it."""
    formula = law.steps[0].formula
    if formula.computed is None and not isinstance(formula, RuleDirection):
        return
    arc = next(arc for arc in pad.sequence.arcs if arc.rise is None)
    around = Surroundings(pad.mission.body)
    now = Moment(arc, around, (0.0, 0.0, 0.0), 0, pad.sequence.initial_state())
    found = now.direction(formula)
    if not all(isfinite(part) for part in found):
        raise InputError(
            f"rule {rule.name!r}: on the pad its direction is {found!r}; it must be three finite "
            "numbers, not all zero. Return a vector, as view.leaned(angle)."
        )
