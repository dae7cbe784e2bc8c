"""What a rule must have, looked at before anything is flown."""

from __future__ import annotations

from dataclasses import is_dataclass

from ascentopt.errors import InputError
from ascentopt.rules.laws.open_number import Open
from ascentopt.rules.laws.rule import Rule

MOST_NUMBERS = 5
"""Of a rule that is compared: to be sure of the least over more takes hundreds of flights."""


def check_rule(rule: object) -> None:
    """Refuse what is no rule, or lacks what one must have.

    Raises:
        InputError: names the rule, what is wrong with it, and what to do.
    """
    if not isinstance(rule, Rule):
        fix = "Give an instance, with parentheses" if isinstance(rule, type) else "Subclass ao.Rule"
        raise InputError(f"rules: {rule!r} is no rule; it must be an instance of ao.Rule. {fix}.")
    owner = type(rule).__name__
    name = getattr(rule, "name", None)
    if not isinstance(name, str) or not name.strip():
        raise InputError(
            f"{owner}: name is {name!r}; it must be a text that is not empty. "
            f'Give the class a line like name = "root lean".'
        )
    _check_steering(owner, rule)
    _check_numbers(f"{owner} ({name})", getattr(rule, "open", None))
    _check_kept(owner, rule)


def _check_steering(owner: str, rule: Rule) -> None:
    kind = type(rule)
    if kind.steps is Rule.steps and kind.direction is Rule.direction:
        raise InputError(
            f"{owner}: it has neither direction nor steps; it must have one of them. Define "
            "direction(self, view, numbers) for a closed form, or steps(self, values, pad) for "
            "phases; ao.CallableRule takes a Python function."
        )


def _check_numbers(owner: str, opened: object) -> None:
    if not isinstance(opened, tuple) or not all(isinstance(one, Open) for one in opened):
        raise InputError(
            f"{owner}: open is {opened!r}; it must be a tuple of ao.Open. Give one for each number "
            "that tuning may choose, as open = (ao.Open(name=..., unit=..., low=..., high=...),)."
        )
    if not 1 <= len(opened) <= MOST_NUMBERS:
        raise InputError(
            f"{owner}: it has {len(opened)} open numbers; there must be 1 to {MOST_NUMBERS}. Fix "
            "some of them in the rule itself."
        )
    names = [one.name for one in opened]
    if len(set(names)) < len(names):
        raise InputError(
            f"{owner}: its open numbers are called {', '.join(names)}; no two may be called alike. "
            "Rename one."
        )


def _check_kept(owner: str, rule: Rule) -> None:
    """What is compiled for a rule is kept under it."""
    fields = is_dataclass(rule)
    try:
        hash(rule)
    except TypeError:
        raise InputError(
            f"{owner}: it cannot be hashed; a rule must be, and must not change. Decorate it with "
            "@dataclass(frozen=True), with numbers, texts and tuples as fields."
        ) from None
    if vars(rule) and not fields:
        raise InputError(
            f"{owner}: it keeps {', '.join(vars(rule))} and is no dataclass; a rule must not "
            "change. Decorate it with @dataclass(frozen=True) and declare these as fields."
        )
