"""What each subcommand does: a few lines over the library."""

from __future__ import annotations

from argparse import Namespace
from pathlib import Path

from ascentopt.command.answer import Answer
from ascentopt.command.asked import ascent_of, check_can_be_written, launch_of
from ascentopt.command.exit_code import ExitCode
from ascentopt.command.told import told_of_ascent, told_of_comparison
from ascentopt.descriptions import read, write
from ascentopt.errors import InputError
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.optimal.result.certificate import Verdict
from ascentopt.progress import ProgressBar
from ascentopt.report import flight_card
from ascentopt.scenarios import scenarios
from ascentopt.studies.comparison.compare import compare

DRAWN = (".pdf", ".png", ".svg")


def solve(asked: Namespace) -> Answer:
    """The least-propellant ascent, saved where that is asked for."""
    check_can_be_written(asked.save, [".json"])
    check_can_be_written(asked.steering, [".csv"])
    ascent = ascent_of(asked.file, asked.time_limit)
    if asked.save is not None:
        ascent.save(asked.save)
    if asked.steering is not None:
        ascent.steering.to_csv(asked.steering)
    certified = ascent.certificate.verdict is Verdict.CERTIFIED
    return Answer(
        text=str(ascent),
        data=told_of_ascent(ascent),
        code=ExitCode.DONE if certified else ExitCode.NOT_CERTIFIED,
        files=tuple(file for file in (asked.save, asked.steering) if file is not None),
    )


def compare_rules(asked: Namespace) -> Answer:
    """Rules of thumb beside the optimum."""
    check_can_be_written(asked.save, [".json"])
    one = launch_of(asked.file)
    comparison = compare(
        one.vehicle,
        one.mission,
        ascent=one if isinstance(one, Ascent) else None,
        progress=ProgressBar(),
        time_limit=asked.time_limit,
    )
    if asked.save is not None:
        comparison.save(asked.save)
    return Answer(
        text=str(comparison),
        data=told_of_comparison(comparison),
        files=() if asked.save is None else (asked.save,),
    )


def card(asked: Namespace) -> Answer:
    """The flight card, as a page to print."""
    check_can_be_written(asked.out, DRAWN)
    ascent = ascent_of(asked.file, asked.time_limit)
    flight_card(ascent).savefig(asked.out, dpi=150)
    return Answer(text="", data={"card": asked.out}, files=(asked.out,))


def describe(asked: Namespace) -> Answer:
    """What a description says; nothing is solved."""
    one = read(asked.file)
    data = {"name": one.name, "vehicle": one.vehicle.name, "body": one.mission.body.name,
            "orbit": str(one.mission.orbit), "lift_off_mass": one.vehicle.lift_off_mass,
            "ideal_delta_v": one.vehicle.ideal_delta_v}  # fmt: skip
    return Answer(text=f"{one.name}\n{one.vehicle}\n{one.mission}", data=data)


def example(asked: Namespace) -> Answer:
    """A description to begin with, in a new file."""
    check_can_be_written(asked.out, [".toml"])
    if Path(asked.out).exists():
        raise InputError(f"{asked.out} is there already; it must be a new file. Give another name.")
    known = scenarios()
    if asked.scenario not in known:
        raise InputError(
            f"example: scenario is {asked.scenario!r}; it must be one of {', '.join(known)}. "
            "Give one of them."
        )
    write(asked.out, known[asked.scenario])
    return Answer(text="", data={"description": asked.out}, files=(asked.out,))
