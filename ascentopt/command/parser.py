"""What may be asked for on the command line."""

from __future__ import annotations

from argparse import ArgumentParser, Namespace, RawDescriptionHelpFormatter
from collections.abc import Callable
from typing import Any

from ascentopt.command import cost_baseline, subcommands
from ascentopt.command.answer import Answer
from ascentopt.command.asked import seconds
from ascentopt.command.exit_code import IN_WORDS

_FILE = "a description in TOML, or an ascent that was saved as .json"
_EPILOG = f"""{IN_WORDS}

How descriptions are laid out is told by `python -m pydoc ascentopt.descriptions`;
`ascentopt example` writes one to begin with.

Preliminary analysis only: a real launch is for licensed practice and range safety to decide.
"""


def parser() -> ArgumentParser:
    """The parser of the command and its subcommands."""
    whole = ArgumentParser(
        prog="ascentopt",
        description="Least-propellant ascents of rockets to orbit, from files that describe them.",
        epilog=_EPILOG,
        formatter_class=RawDescriptionHelpFormatter,
    )
    adding = whole.add_subparsers(required=True, metavar="SUBCOMMAND")
    _add_flights(adding)
    _add_descriptions(adding)
    text = "Costs on record: hold ascents against them, or put them there."
    costs = adding.add_parser("baseline", help=text, description=text)
    _add_baseline(costs.add_subparsers(required=True, metavar="check|record|update"))
    return whole


def _add_flights(adding: Any) -> None:
    one = _add(adding, "solve", subcommands.solve)
    _add_file(one)
    one.add_argument("--save", metavar="ASCENT.json", help="save the whole ascent")
    one.add_argument("--steering", metavar="STEERING.csv", help="write the steering law")
    one = _add(adding, "compare", subcommands.compare_rules)
    _add_file(one)
    one.add_argument("--save", metavar="COMPARISON.json", help="save the comparison")
    one = _add(adding, "card", subcommands.card)
    _add_file(one)
    one.add_argument("out", metavar="OUT", help="the file to write: .pdf, .png or .svg")


def _add_descriptions(adding: Any) -> None:
    one = _add(adding, "describe", subcommands.describe)
    one.add_argument("file", metavar="FILE", help="a description in TOML")
    one = _add(adding, "example", subcommands.example)
    one.add_argument("out", metavar="OUT.toml", help="the file to write")
    one.add_argument("--scenario", default="earth-small", metavar="NAME", help="which one")


def _add_baseline(adding: Any) -> None:
    for answer in (cost_baseline.check, cost_baseline.record, cost_baseline.update):
        one = _add(adding, answer.__name__, answer)
        one.add_argument("baseline", metavar="BASELINE.toml", help="the costs on record")
        one.add_argument("files", metavar="FILE", nargs="+", help=_FILE)
        _add_time_limit(one)


def _add(adding: Any, name: str, answer: Callable[[Namespace], Answer]) -> ArgumentParser:
    text = (answer.__doc__ or "").partition("\n")[0]
    one: ArgumentParser = adding.add_parser(
        name, help=text, description=text, epilog=IN_WORDS,
        formatter_class=RawDescriptionHelpFormatter,
    )  # fmt: skip
    one.set_defaults(answer=answer)
    one.add_argument("--json", action="store_true", help="print one JSON object, in SI units")
    return one


def _add_file(one: ArgumentParser) -> None:
    one.add_argument("file", metavar="FILE", help=_FILE)
    _add_time_limit(one)


def _add_time_limit(one: ArgumentParser) -> None:
    text = "give up after so many seconds of the clock, for each ascent"
    one.add_argument("--time-limit", type=seconds, metavar="S", help=text)
