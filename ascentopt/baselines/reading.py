"""A baseline from a file that anybody may have edited: every value is looked at."""

from __future__ import annotations

import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path
from typing import Any, NoReturn

from ascentopt.baselines.case import WORDS, BaselineCase
from ascentopt.baselines.inputs import Input, is_input, is_name, is_number
from ascentopt.baselines.tolerance import CostTolerance
from ascentopt.baselines.writing import FORM, VERSION
from ascentopt.errors import InputError
from ascentopt.files import why
from ascentopt.telling import told

RESTORE = "Restore the file from version control, or record the case anew."


def cases_in(path: Path) -> dict[str, BaselineCase]:
    """The cases of a file. Raises `InputError` for whatever `text_of` does not write."""
    data = _Table(f"Baseline {str(path)!r}", "", _parsed(path))
    data.only("form", "version", "cases")
    data.value("form", lambda form: form == FORM, f"{FORM!r}, or it is no baseline")
    data.value("version", _is_version, f"{VERSION}; another version of ascentopt wrote the rest")
    if "cases" not in data.values:
        return {}
    cases = data.table("cases")
    for name, value in cases.values.items():
        if not is_name(name):
            cases.refuse(repr(name), value, "under a name that can be printed")
    return {name: _case(cases.table(name)) for name in cases.values}


def _parsed(path: Path) -> dict[str, Any]:
    owner = f"Baseline {str(path)!r}"
    try:
        return tomllib.loads(_text(owner, path))
    except (ValueError, RecursionError) as fault:  # no UTF-8, no TOML, or nested without end
        if isinstance(fault, InputError):
            raise
        raise InputError(f"{owner}: it is no TOML ({fault}). {RESTORE}") from None


def _text(owner: str, path: Path) -> str:
    try:
        return path.read_text(encoding="utf-8")
    except UnicodeDecodeError:
        raise
    except FileNotFoundError:
        raise InputError(
            f"{owner}: there is no such file. Give the path of one that was recorded, or record "
            "one: Baseline().record(name, ascent).write(path)."
        ) from None
    except (OSError, ValueError) as fault:  # a path may hold what no file system takes
        raise InputError(
            f"{owner}: it cannot be read ({why(fault)}); it must be a text file. Give another path."
        ) from None


@dataclass(frozen=True)
class _Table:
    """A table of the file, and where it stands."""

    owner: str
    place: str
    values: Mapping[str, Any]

    def refuse(self, name: str, value: object, rule: str) -> NoReturn:
        """Say what is wrong."""
        raise InputError(
            f"{self.owner}: {self.place}{name} is {_told(value)}; it must be {rule}. {RESTORE}"
        )

    def only(self, *names: str) -> None:
        """Refuse every other key."""
        for name, value in self.values.items():
            if name not in names:
                self.refuse(name, value, f"left out, or one of {', '.join(names)}")

    def value(self, name: str, good: Callable[[Any], bool], rule: str) -> Any:
        """The value under a name, which must be there."""
        if name not in self.values:
            raise InputError(
                f"{self.owner}: {self.place}{name} is missing; it must be {rule}. {RESTORE}"
            )
        value = self.values[name]
        return value if good(value) else self.refuse(name, value, rule)

    def number(self, name: str, rule: str = "a finite number") -> float:
        """The number under a name."""
        return float(self.value(name, is_number, rule))

    def table(self, name: str) -> _Table:
        """The table under a name."""
        inner = self.value(name, lambda value: isinstance(value, dict), "a table")
        return _Table(self.owner, f"{self.place}{name}.", inner)


def _case(table: _Table) -> BaselineCase:
    table.only(
        "propellant_used", "ballast", "tolerance_mass", "tolerance_share", "structure", "verdict",
        "recorded_with", "inputs", "partials",
    )  # fmt: skip
    inputs, partials = table.table("inputs"), table.table("partials")
    ballast = table.number("ballast") if "ballast" in table.values else 0.0
    words = {
        name: table.value(name, lambda value: isinstance(value, str), "a text")
        for name in ("structure", "recorded_with")
    }
    verdict = table.value("verdict", lambda value: value in WORDS, f"one of {', '.join(WORDS)}")
    try:
        return BaselineCase(
            propellant_used=table.number("propellant_used"),
            ballast=ballast,
            tolerance=CostTolerance(
                mass=table.number("tolerance_mass"), share=table.number("tolerance_share")
            ),
            verdict=verdict,
            inputs={name: _input(inputs, name) for name in inputs.values},
            partials={name: partials.number(name) for name in partials.values},
            **words,
        )
    except InputError as fault:
        if str(fault).startswith(table.owner):
            raise
        raise InputError(f"{table.owner}: {table.place[:-1]}: {fault}") from None


def _input(inputs: _Table, name: str) -> Input:
    rule = "a finite number, a text or a list of finite numbers"
    value = inputs.value(name, lambda one: is_input(_with_tuple(one)), rule)
    found: Input = tuple(map(float, value)) if isinstance(value, list) else value
    return found


def _with_tuple(value: object) -> object:
    return tuple(value) if isinstance(value, list) else value


def _is_version(value: object) -> bool:
    return value == VERSION and not isinstance(value, bool)


def _told(value: object) -> str:
    return "a table" if isinstance(value, dict) else told(value)
