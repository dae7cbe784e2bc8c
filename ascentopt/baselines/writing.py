"""A baseline as TOML whose diff a person can read: sorted, a number a line, the same every time."""

from __future__ import annotations

import re
from collections.abc import Iterator, Mapping

from ascentopt.baselines.case import BaselineCase
from ascentopt.baselines.inputs import Input

FORM, VERSION = "ascent baseline", 1

HEAD = """\
# What ascents cost, recorded by ascentopt. Numbers are in SI units and radians; a partial is what
# one unit more of an input costs in kg of propellant, to first order. Tolerances may be edited.
"""

_BARE = re.compile(r"[A-Za-z0-9_-]+")


def text_of(cases: Mapping[str, BaselineCase]) -> str:
    """The whole file."""
    lines = [HEAD, f"form = {_quoted(FORM)}", f"version = {VERSION}"]
    for name in sorted(cases):
        lines += ["", *_case(f"cases.{_key(name)}", cases[name])]
    return "\n".join(lines) + "\n"


def _case(place: str, case: BaselineCase) -> Iterator[str]:
    yield f"[{place}]"
    yield _line("propellant_used", case.propellant_used)
    if case.ballast:
        yield _line("ballast", case.ballast)
    yield _line("tolerance_mass", case.tolerance.mass)
    yield _line("tolerance_share", case.tolerance.share)
    for name in ("structure", "verdict", "recorded_with"):
        yield _line(name, getattr(case, name))
    tables: tuple[tuple[str, Mapping[str, Input]], ...] = (
        ("inputs", case.inputs),
        ("partials", case.partials),
    )
    for table, values in tables:
        yield ""
        yield f"[{place}.{table}]"
        yield from (_line(name, values[name]) for name in sorted(values))


def _line(name: str, value: Input) -> str:
    return f"{_key(name)} = {_value(value)}"


def _value(value: Input) -> str:
    if isinstance(value, tuple):
        return f"[{', '.join(map(repr, value))}]"
    return _quoted(value) if isinstance(value, str) else repr(value)


def _key(name: str) -> str:
    return name if _BARE.fullmatch(name) else _quoted(name)


def _quoted(text: str) -> str:
    """A basic string of TOML: nothing in it but what can be printed."""
    return f'"{"".join(map(_character, text))}"'


def _character(one: str) -> str:
    if one in '"\\':
        return "\\" + one
    return one if one.isprintable() else f"\\U{ord(one):08X}"
