"""The page on the layout says what is so: its example is read, its lists have every key."""

from __future__ import annotations

import re
import textwrap
from dataclasses import fields, is_dataclass
from inspect import signature
from pathlib import Path

import pytest

import ascentopt as ao
from ascentopt import descriptions
from ascentopt.descriptions.quantities.measure import MEASURES
from ascentopt.descriptions.quantities.unit import SYMBOLS, unit_of
from ascentopt.descriptions.schema.dimensions import DIMENSIONS
from ascentopt.descriptions.schema.forms import Form, described

PAGE = descriptions.__doc__ or ""
FORMS = described(ao.Scenario)


def test_the_complete_example_is_read(tmp_path: Path) -> None:
    block = re.search(r"A complete file:\n\n(.*?)\n\n\*\*Numbers", PAGE, re.DOTALL)
    assert block is not None
    file = tmp_path / "example.toml"
    file.write_text(textwrap.dedent(block[1]), encoding="utf-8")
    found = ao.read(file)
    assert found.vehicle.stages[1].dry_mass == 950.0
    assert found.vehicle.boosters[0].count == 2
    assert isinstance(found.vehicle.boosters[0].engine, ao.SolidMotor)
    assert found.mission.orbit.inclination == pytest.approx(0.610865238)
    assert found.mission.limits.axial_acceleration == pytest.approx(44.129925)


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_the_page_lists_the_keys_of_each_form(form: Form) -> None:
    name = form.name.split(", ")[-1]
    rows = re.search(rf"^    {name} {{2,}}(.*(?:\n {{10,}}.*)*)", PAGE, re.MULTILINE)
    assert rows is not None, f"{name} has no row"
    keys = re.sub(r", or csv|, without units|,", "", rows[1]).split()
    assert sorted(keys) == sorted(set(form.fields) - set(form.afterwards))
    assert (", or csv" in rows[1]) == bool(form.columns)


def test_the_page_lists_the_units() -> None:
    block = re.search(r"Known are\n(.*?)\. Numbers", PAGE, re.DOTALL)
    assert block is not None
    listed = set(block[1].replace(",", " ").replace(" and ", " ").split())
    assert listed == set(SYMBOLS) - {"1", "°"}


@pytest.mark.parametrize("form", FORMS, ids=lambda form: form.name)
def test_every_number_of_every_form_has_a_dimension(form: Form) -> None:
    """A new field of a description is either told what it measures, or holds no number."""
    for name, field in form.fields.items():
        holds_numbers = field.kind.column or float in field.kind.plain
        assert (field.si is not None) == holds_numbers, f"{form.name}.{name}"
        assert field.si is None or field.si in MEASURES
        known = field.kind.plain or field.kind.column or field.kind.objects or field.kind.items
        assert known, f"{form.name}.{name} is of a type that no file can hold"


def test_no_dimension_is_of_a_field_that_is_gone() -> None:
    changes = {change for form in FORMS for change in form.afterwards.values()}
    for taken_by, own in DIMENSIONS.items():
        assert set(own) <= set(signature(taken_by).parameters), taken_by
        assert taken_by in changes or taken_by in {form.make for form in FORMS}


def test_the_page_tells_what_changes_air_in_turn() -> None:
    [changes] = {tuple(form.afterwards) for form in FORMS if form.afterwards}
    told = "`" + "`, `".join(changes[:-1]) + f"` and `{changes[-1]}`"
    assert told in PAGE.replace("\n", " ")


def test_all_that_a_scenario_can_hold_is_described() -> None:
    """Walked by the objects and not by the hints: those of the built-in scenarios."""
    made = {form.make for form in FORMS}
    waiting: list[object] = list(ao.scenarios().values())
    while waiting:
        thing = waiting.pop()
        if is_dataclass(thing):
            assert type(thing) in made
            waiting += [getattr(thing, one.name) for one in fields(thing)]
        elif isinstance(thing, tuple):
            waiting += thing


def test_measures_are_written_in_units_of_their_own() -> None:
    for si, measure in MEASURES.items():
        assert si in measure.written
        assert {unit_of(one).dimension for one in measure.written} == {unit_of(si).dimension}
        assert unit_of(si).to_si(1.0) == 1.0
