"""Every result: a line, a table whose numbers are its own, and HTML that stands alone."""

from __future__ import annotations

import csv
from collections.abc import Callable, Iterator
from dataclasses import astuple, fields, is_dataclass, replace
from io import StringIO
from pathlib import Path
from typing import Any

import numpy as np
import pytest

import ascentopt as ao
from ascentopt import rocket
from ascentopt.errors import InputError
from ascentopt.tables import Table
from tests.flight.rockets import boosted
from tests.optimal.launchers import earth_mission, lander, moon_mission
from tests.tables import results
from tests.tables.test_html import Read

TABULAR: dict[str, Callable[[], Any]] = {
    "ascent": results.ascent,
    "trajectory": lambda: results.ascent().trajectory,
    "events": lambda: results.ascent().events,
    "budget": lambda: results.ascent().budget,
    "certificate": lambda: results.ascent().certificate,
    "partials": lambda: results.ascent().partials,
    "candidates": lambda: results.ascent().candidate_table,
    "steering": lambda: results.ascent().steering,
    "comparison": results.comparison,
    "outcome": lambda: results.comparison().outcomes[0],
    "outcome without an orbit": lambda: results.comparison().outcomes[-1],
    "outcome beyond a limit": results.outcome_beyond_a_limit,
    "cost map": results.cost_map,
    "valley": results.valley,
    "programme": lambda: results.curve()[0],
    "curve": results.curve,
    "pitch table": results.pitch_table,
    "greatest payload": results.max_payload,
    "dispersed flights": results.dispersed,
    "importance": lambda: results.dispersed().importance(),
    "loads of flights": lambda: results.dispersed().loads(),
    "sizing": results.sizing,
    "masses of a sizing": lambda: results.sizing().mass_table,
    "deorbit": results.deorbit,
    "baseline": results.baseline,
    "sweep": results.sweep,
}
SHOWN: dict[str, Callable[[], Any]] = {
    **TABULAR,
    "flight": lambda: results.deorbit().flight,
    "flight with a verdict": lambda: results.curve()[0].flight,
    "check of a baseline": lambda: results.baseline().check("lander", results.ascent()),
    "verification": lambda: results.ascent().verify(),
    "vehicle": boosted,
    "mission": earth_mission,
}
MAKES_AGAIN = tuple(
    kind for name, kind in vars(rocket).items() if isinstance(kind, type) and name != "Vehicle"
)
"""Parts of a vehicle: their `repr` is Python that makes them again."""


def table_of(found: Any) -> Table:
    return found if isinstance(found, Table) else found.to_table()


def within(found: object) -> Iterator[object]:
    """An object of ours and all that it holds."""
    if isinstance(found, tuple | list):
        for entry in found:
            yield from within(entry)
    elif is_dataclass(found) and not isinstance(found, type):
        yield found
        for one in fields(found):
            yield from within(getattr(found, one.name))


def refusal() -> object:
    """The diagnosis of a vehicle that is too heavy."""
    with pytest.raises(ao.InfeasibleAscent) as refused:
        ao.optimize(replace(lander(), payload_mass=6000.0), moon_mission())
    return refused.value.diagnosis


@pytest.mark.parametrize("name", SHOWN)
def test_a_result_and_what_it_holds_is_a_line_each(name: str) -> None:
    found = SHOWN[name]()
    for one in (found, *within(found)):
        if not isinstance(one, MAKES_AGAIN):
            assert len(repr(one)) < 120, type(one)
            assert "\n" not in repr(one), type(one)


def test_a_refusal_is_a_line() -> None:
    for one in within(refusal()):
        if not isinstance(one, MAKES_AGAIN):
            assert len(repr(one)) < 120, type(one)


def test_a_line_says_what_it_is() -> None:
    best = results.ascent()
    assert repr(best) == (
        "Ascent(Sanderling, circular orbit at 100 km of Moon, "
        f"{best.propellant_used:.2f} kg used, certified)"
    )
    assert repr(best.plan) == "FlightPlan(inserting_stage=0, restarts=1)"
    assert eval(repr(best.plan), {"FlightPlan": ao.FlightPlan}) == best.plan


@pytest.mark.parametrize("name", TABULAR)
def test_the_file_has_units_and_every_bit(name: str, tmp_path: Path) -> None:
    found = TABULAR[name]()
    found.to_csv(tmp_path / "table.csv")
    with (tmp_path / "table.csv").open(encoding="utf-8", newline="") as file:
        lines = [line for line in file if not line.startswith("#")]
    head, *rows = csv.reader(StringIO("".join(lines), newline=""), strict=True)
    table = table_of(found)
    assert len(rows) == len(table) > 0
    for k, column in enumerate(table.columns):
        for row, cells in zip(rows, table.rows, strict=True):
            cell = cells[k]
            if isinstance(cell, float):
                assert head[k] == f"{column.name} [{column.unit}]"
                assert float(row[k]).hex() == cell.hex()


@pytest.mark.parametrize("name", TABULAR)
def test_a_frame_has_the_columns_of_the_file(name: str) -> None:
    pytest.importorskip("pandas")
    found = TABULAR[name]()
    frame = found.to_dataframe()
    assert tuple(frame.columns) == table_of(found).headers
    assert len(frame) == len(table_of(found))


@pytest.mark.parametrize("name", TABULAR)
def test_where_it_cannot_be_written_path_and_fix_are_named(name: str, tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"missing.*Give another path"):
        TABULAR[name]().to_csv(tmp_path / "missing" / "table.csv")


@pytest.mark.parametrize("name", SHOWN)
def test_html_is_well_formed_text_and_tables(name: str) -> None:
    Read(SHOWN[name]()._repr_html_())


def test_names_are_escaped() -> None:
    odd = results.ascent("<b>Sand & erling</b>", "<script>alert(1)</script>")
    for found in (odd, odd.vehicle, odd.events, odd.steering, odd.partials):
        html = found._repr_html_()
        Read(html)
        assert "<script" not in html
        assert "<b>" not in html
    assert "&lt;b&gt;Sand &amp; erling&lt;/b&gt;" in odd._repr_html_()


def test_a_trajectory_table_is_the_trajectory() -> None:
    track = results.ascent().trajectory
    table = track.to_table()
    for column in track.columns():
        own = column.__get__(track, type(track))
        assert np.array_equal(np.array(table[column.name], dtype=float), own, equal_nan=True)
    columns = [[*map(float, table[f"{name}_{axis}"])]  # type: ignore[arg-type]
               for name in ("position", "velocity") for axis in "xyz"]  # fmt: skip
    assert np.array_equal(np.array(columns).T, track.states[:, :6])


def test_events_and_budget_are_theirs() -> None:
    best = results.ascent()
    assert best.events.to_table().rows == tuple(map(astuple, best.events))
    table = best.budget.to_table()
    budget = dict(zip(table["term"], table["delta_v"], strict=True))
    assert budget["ideal"] == best.budget.ideal
    assert budget["closing_error"] == best.budget.closing_error


def test_a_map_is_told_cell_by_cell() -> None:
    found = results.cost_map()
    table = found.to_table()
    assert [column.header for column in table.columns[:2]] == [
        "kick speed [m/s]",
        "kick angle [rad]",
    ]
    penalty = np.array(table["penalty"], dtype=float).reshape(found.penalty.shape)
    assert np.array_equal(penalty, found.penalty, equal_nan=True)
    assert table["reason"][2] == found.reasons[0][2] != ""


def test_a_map_that_is_not_finished_or_named_like_its_columns_is_told() -> None:
    found = results.cost_map()
    begun = replace(found, reasons=((), ()), across=replace(found.across, name="penalty"))
    assert begun.to_table().columns[1].name == "penalty of the rule"
    assert begun.to_table()["reason"] == ("",) * 6


def test_comparisons_keep_parameters_to_the_last_bit() -> None:
    found = results.comparison()
    table = found.to_table()
    assert table["propellant_used"][0] == found.ascent.propellant_used
    first = found.outcomes[0]
    told = str(table["parameters"][1])
    assert told == "; ".join(f"{one.name} = {one.value!r} {one.unit}" for one in first.parameters)
    assert first.to_table().rows == (table.rows[1],)
    assert table["remark"][-1] == found.outcomes[-1].remark != ""


def test_numbers_without_a_partial_say_why() -> None:
    found = results.ascent().partials
    table = found.to_table()
    assert table["one_unit_more_of"] == (
        *(row.quantity for row in found), *(one.quantity for one in found.missing),
    )  # fmt: skip
    assert all(bool(why) == (k >= len(found)) for k, why in enumerate(table["without_a_partial"]))


def test_a_curve_is_a_tuple_still() -> None:
    found = results.curve()
    assert isinstance(found, tuple)
    assert found == tuple(found)
    assert isinstance(found, ao.SimplerCurve)
    assert found.to_table()["penalty"] == tuple(one.penalty for one in found)


def test_a_programme_says_what_else_to_do_when() -> None:
    found = results.curve()[0]
    notes = "\n".join(found.to_table().notes)
    for end in found.flight.ends:
        assert f"{end.arc:30}{end.time:10.2f} s" in notes
    told = str(found).splitlines()
    assert [line for line in told if line in notes.splitlines()] == notes.splitlines()


@pytest.mark.parametrize(
    ("described", "told"),
    [
        (ao.Effort(), "Effort()"),
        (ao.Effort(exhaustive=True), "Effort(exhaustive=True)"),
        (ao.FlightLimits(q_alpha=2000.0), "FlightLimits(q_alpha=2000.0)"),
        (ao.moon(), "Body('Moon', radius 1737.4 km, no air)"),
        (moon_mission(), "Mission(Moon, from latitude 10 deg, circular orbit at 100 km)"),
        (lander(), "Vehicle('Sanderling', 1 stage, 7500 kg at lift-off, 1000 kg payload)"),
        (ao.earth().atmosphere, "Atmosphere('U.S. Standard Atmosphere 1976', ceiling 100 km)"),
    ],
    ids=lambda given: given if isinstance(given, str) else "",
)
def test_a_description_is_a_line(described: object, told: str) -> None:
    assert repr(described) == told
