"""Descriptions in files."""

from __future__ import annotations

import tomllib
from os import PathLike

from ascentopt.descriptions.reading import object_from
from ascentopt.descriptions.text_files.place import Place
from ascentopt.descriptions.text_files.text_file import text_of_file
from ascentopt.descriptions.text_files.toml import toml_text
from ascentopt.descriptions.warnings_told import warnings_told
from ascentopt.descriptions.writing import table_of
from ascentopt.errors import InputError
from ascentopt.files import path_given, write_whole
from ascentopt.scenarios import Scenario
from ascentopt.telling import told


def read(path: str | PathLike[str]) -> Scenario:
    """The vehicle and mission that a TOML file describes.

    Args:
        path: of the file; its layout is told in `ascentopt.descriptions`.

    Raises:
        InputError: for a file that cannot be read or does not describe a launch; names file, key,
            value, rule and fix.

    Warns:
        UnusualInputWarning: of what is possible and mostly a slip; names file and key.
    """
    file = path_given("read", path)
    text = text_of_file(file)
    try:
        data = tomllib.loads(text)
    except (ValueError, RecursionError) as fault:
        raise InputError(
            f"{file} is not TOML ({str(fault) or 'nested too deep'}); it must be a description in "
            "TOML. Correct it there."
        ) from None
    with warnings_told(str, stacklevel=2):
        found: Scenario = object_from(Place(file), data, (Scenario,))
    return found


def write(path: str | PathLike[str], scenario: Scenario) -> None:
    """Write a vehicle on a mission as TOML, from which `read` makes the same to the last bit.

    Numbers stand in the units in which they are shortest; what is as by default is left out.

    Raises:
        InputError: for what is no `Scenario`, and where no file can be written.
    """
    file = path_given("write", path)
    if not isinstance(scenario, Scenario):
        raise InputError(
            f"write: scenario is {told(scenario)}; it must be a Scenario. Give "
            "Scenario(name=..., vehicle=..., mission=...)."
        )
    write_whole("write", file, toml_text(table_of(scenario)))
