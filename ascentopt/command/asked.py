"""Files and numbers that a command line names."""

from __future__ import annotations

from argparse import ArgumentTypeError
from collections.abc import Sequence
from math import isfinite
from pathlib import Path

from ascentopt.descriptions import read
from ascentopt.errors import InputError
from ascentopt.optimal.optimize import optimize
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.progress import ProgressBar
from ascentopt.scenarios import Scenario

SAVED = ".json"
"""What a saved ascent's file ends with; any other is taken for a description."""


def ascent_of(file: str, time_limit: float | None) -> Ascent:
    """The ascent that a file holds, or that of the vehicle and mission that it describes.

    Raises:
        InputError, InfeasibleAscent, OutOfTime, Interrupted: as `read` and `optimize`.
    """
    one = launch_of(file)
    if isinstance(one, Ascent):
        return one
    return optimize(one.vehicle, one.mission, progress=ProgressBar(), time_limit=time_limit)


def launch_of(file: str) -> Ascent | Scenario:
    """What a file holds: a saved ascent, or what is to be solved for. Raises `InputError`."""
    return Ascent.load(file) if Path(file).suffix == SAVED else read(file)


def name_of(file: str) -> str:
    """The name of what a file describes; of a saved ascent that of the file."""
    return Path(file).stem if Path(file).suffix == SAVED else read(file).name


def check_can_be_written(file: str | None, endings: Sequence[str]) -> None:
    """Refuse a file to be written before an hour is spent on what goes into it.

    Raises:
        InputError: for a folder, a file in no folder, or another ending.
    """
    if file is None:
        return
    path = Path(file)
    if path.suffix not in endings:
        rule = f"end in {' or '.join(endings)}"
        raise InputError(f"{file} cannot be written; its name must {rule}. Give another name.")
    if path.is_dir() or not path.parent.is_dir():
        what = "is a folder" if path.is_dir() else f"lies in {path.parent}, which is no folder"
        raise InputError(f"{file} {what}; it must be a file in a folder that exists. Correct it.")


def seconds(text: str) -> float:
    """A positive number of seconds, for an argument parser."""
    try:
        value = float(text)
    except ValueError:
        value = -1.0
    if not (isfinite(value) and value > 0.0):
        raise ArgumentTypeError(f"{text!r} is no positive number of seconds")
    return value
