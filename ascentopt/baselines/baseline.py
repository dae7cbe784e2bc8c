"""Costs of many ascents in one file, against which new ones are held."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field, replace
from difflib import get_close_matches
from pathlib import Path
from types import MappingProxyType

from ascentopt.arguments import checked
from ascentopt.baselines.case import BaselineCase
from ascentopt.baselines.check import BaselineCheck
from ascentopt.baselines.file import held
from ascentopt.baselines.inputs import is_name
from ascentopt.baselines.reading import cases_in
from ascentopt.baselines.tolerance import CostTolerance
from ascentopt.baselines.writing import text_of
from ascentopt.errors import InputError
from ascentopt.files import path_given, write_whole
from ascentopt.optimal.result.ascent import Ascent
from ascentopt.tables import Table, Tabular, one_line
from ascentopt.validation import instance, require

_NAME_FIX = "Give a name of printable characters, for instance 'small launcher'."


@checked
@dataclass(frozen=True)
class Baseline(Tabular):
    """Recorded costs of ascents, by the names of their cases.

    It is never changed: `record`, `update`, `without` and `merged_with` return another one.
    Raises `InputError` for a name that is no printable text, and for what is no `BaselineCase`.
    """

    cases: Mapping[str, BaselineCase] = field(default_factory=dict)

    def __post_init__(self) -> None:
        instance("Baseline", "cases", self.cases, (Mapping,), "Give cases by their names.")
        for name, case in self.cases.items():
            _check_name(name)
            fix = "Give what BaselineCase.of(ascent) returns."
            instance("Baseline", f"cases[{name!r}]", case, (BaselineCase,), fix)
        ordered = {name: self.cases[name] for name in sorted(self.cases)}
        object.__setattr__(self, "cases", MappingProxyType(ordered))

    @classmethod
    def read(cls, path: str | Path) -> Baseline:
        """Read what `write` wrote; a person may have edited it. Raises `InputError`."""
        return cls(cases_in(path_given("Baseline", path)))

    def write(self, path: str | Path) -> None:
        """Write TOML in one go: sorted, a number a line, the same for the same cases.

        Raises `InputError` where no file can be.
        """
        write_whole("Baseline", path_given("Baseline", path), self.text)

    @property
    def text(self) -> str:
        """What `write` writes."""
        return text_of(self.cases)

    def record(
        self, name: str, ascent: Ascent, *, tolerance: CostTolerance = CostTolerance()
    ) -> Baseline:
        """Return the baseline with a case more. Raises `InputError` for a name that is there."""
        _check_name(name)
        if name in self.cases:
            raise InputError(
                f"Baseline: case {name!r} is recorded; a name must be new. Give another name, or "
                "`update` the case."
            )
        return self._with(name, BaselineCase.of(ascent, tolerance))

    def check(
        self, name: str, ascent: Ascent, *, tolerance: CostTolerance | None = None
    ) -> BaselineCheck:
        """Return whether an ascent costs what was recorded: true, or false with the reasons.

        The tolerance is the recorded one unless another is given. Raises `InputError` for a case
        that is not there.
        """
        recorded = self._recorded(name)
        if tolerance is not None:
            recorded = replace(recorded, tolerance=tolerance)
        found = BaselineCase.of(ascent, recorded.tolerance)
        return BaselineCheck(name=name, recorded=recorded, found=found)

    def update(
        self, name: str, ascent: Ascent, *, tolerance: CostTolerance | None = None
    ) -> Baseline:
        """Return the baseline with a case recorded anew, by its own tolerance unless one is given.

        A case that agrees, with inputs, structure and verdict as recorded, stays to the last digit:
        a diff shows what drifted, and small steps do not add up. Raises `InputError` for a case
        that is not there.
        """
        checked = self.check(name, ascent, tolerance=tolerance)
        return self._with(name, checked.recorded if checked.is_as_recorded else checked.found)

    def without(self, name: str) -> Baseline:
        """Return the baseline without a case. Raises `InputError` for one that is not there."""
        self._recorded(name)
        return Baseline({one: case for one, case in self.cases.items() if one != name})

    def merged_with(self, other: Baseline) -> Baseline:
        """Return the cases of both. Raises `InputError` where they differ in a case of one name."""
        instance("Baseline", "other", other, (Baseline,), "Give a Baseline.")
        for name in self.cases.keys() & other.cases.keys():
            if self.cases[name] != other.cases[name]:
                raise InputError(
                    f"Baseline: case {name!r} is in both and differs; a name must stand for one "
                    "case. Take it out of one of them with `without`."
                )
        return Baseline({**self.cases, **other.cases})

    def __contains__(self, name: object) -> bool:
        return isinstance(name, str) and name in self.cases

    def __iter__(self) -> Iterator[str]:
        return iter(self.cases)

    def __len__(self) -> int:
        return len(self.cases)

    def __getitem__(self, name: str) -> BaselineCase:
        return self._recorded(name)

    def to_table(self) -> Table:
        """A row for each case: its cost, by how much that may differ, and what was flown."""
        columns = (
            ("case", ""), ("propellant_used", "kg"), ("ballast", "kg"), ("allowed", "kg"),
            ("verdict", ""), ("structure", ""), ("recorded_with", ""),
        )  # fmt: skip
        rows = (
            (
                name, case.propellant_used, case.ballast,
                case.tolerance.allowed(case.propellant_used),
                case.verdict, case.structure, case.recorded_with,
            )
            for name, case in self.cases.items()
        )  # fmt: skip
        return Table.of("baseline", columns, rows)

    def __repr__(self) -> str:
        return one_line(self, f"{len(self)} cases", *map(repr, self))

    def __str__(self) -> str:
        rows = (
            f"  {name:32}{case.propellant_used:14.2f} kg  {case.verdict:10} {case.structure}"
            for name, case in self.cases.items()
        )
        return "\n".join([f"baseline of {len(self)} cases", *rows])

    def _with(self, name: str, case: BaselineCase) -> Baseline:
        return Baseline({**self.cases, name: case})

    def _recorded(self, name: str) -> BaselineCase:
        _check_name(name)
        if name in self.cases:
            return self.cases[name]
        near = get_close_matches(name, self.cases, n=3)
        others = f"near it are {', '.join(map(repr, near))}" if near else f"there are {len(self)}"
        raise InputError(
            f"Baseline: case is {name!r}; it must be one that is recorded, {others}. `record` it."
        )


def update_file(
    path: str | Path, name: str, ascent: Ascent, *, tolerance: CostTolerance | None = None
) -> BaselineCheck | None:
    """Record or update one case of a file, while others may change other cases of it.

    Return how the ascent compares with what was recorded; None where it was not. The file is made
    if it is not there, and left alone where the case is as recorded. Raises `InputError`.
    """
    place = path_given("Baseline", path)
    with held(place):
        before = Baseline.read(place) if place.exists() else Baseline()
        if name in before:
            checked = before.check(name, ascent, tolerance=tolerance)
            after = before.update(name, ascent, tolerance=tolerance)
        else:
            checked = None
            after = before.record(name, ascent, tolerance=tolerance or CostTolerance())
        if after != before:
            after.write(place)
    return checked


def _check_name(name: object) -> None:
    rule = "a text that can be printed"
    require("Baseline", "name", name, "", rule, _NAME_FIX, holds=is_name(name))
