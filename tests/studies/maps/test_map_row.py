"""Rows of a map: each cell that does not fly says why, and walks end where they lead nowhere."""

from __future__ import annotations

from dataclasses import dataclass, field, replace

import numpy as np
import pytest

import ascentopt as ao
from ascentopt.flight.compiled.failures import FellToGround
from ascentopt.rules.evaluate.choice import Choice
from ascentopt.rules.evaluate.closed_rule_flight import ClosedRuleFlight
from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.studies.maps.map_row import MapRows
from ascentopt.units import deg
from tests.studies.wren import MISSION, VEHICLE

ANGLES = tuple(a * deg for a in (1.0, 5.0, 8.0, 8.2, 8.4, 30.0))


@pytest.fixture(scope="module")
def flight() -> RuleFlight:
    return RuleFlight(
        vehicle=VEHICLE, mission=MISSION, rule=ao.KickRule(), insertion=ao.Circularise()
    )


@pytest.fixture(scope="module")
def reached(flight: RuleFlight) -> ClosedRuleFlight:
    return flight.fly((60.0, 8.2 * deg))


@dataclass(frozen=True, eq=False, kw_only=True)
class Owing(RuleFlight):
    """Flights that owe what a list says, by column; None falls unless it is led there."""

    reached: ClosedRuleFlight
    debts: tuple[float | None, ...]
    asked: list[tuple[int, bool]] = field(default_factory=list)

    def choose(
        self, values: tuple[float, ...], near: tuple[ClosedRuleFlight, ...] = ()
    ) -> Choice:
        column = COLUMNS.index(values[-1])
        self.asked.append((column, bool(near)))
        debt = self.debts[column]
        if debt is None:
            raise FellToGround("it fell")
        choice = Choice(values, near)
        choice.flown.append(replace(self.reached, values=values, debt=debt))
        return choice


COLUMNS = (0.1, 0.2, 0.3, 0.4, 0.5)


def owing(flight: RuleFlight, reached: ClosedRuleFlight, debts: tuple[float | None, ...]) -> Owing:
    return Owing(
        vehicle=VEHICLE,
        mission=MISSION,
        rule=flight.rule,
        insertion=flight.insertion,
        reached=reached,
        debts=debts,
    )


def test_every_cell_without_an_orbit_says_why(flight: RuleFlight) -> None:
    row = MapRows(flight=flight, across=ANGLES)(60.0)
    assert np.isfinite(row.used).sum() >= 2
    for used, excess, why in zip(row.used, row.excess, row.reasons, strict=True):
        assert np.isfinite(used) == np.isfinite(excess) == (why == "")
    assert "below the ground" in row.reasons[-1]


def test_a_row_runs_on_where_a_lower_stage_is_cut_off(flight: RuleFlight) -> None:
    """The plan changes between cells; what a cell costs does not jump there."""
    kicks = tuple(a * deg for a in (7.0, 7.1, 7.2, 7.25, 7.3, 7.4, 7.5))
    row = MapRows(flight=flight, across=kicks)(60.0)
    plans = {flight.fly((60.0, kick)).insertion for kick in kicks}
    assert len(plans) == 2
    assert np.all(np.isfinite(row.used))
    assert np.max(np.abs(np.diff(row.used))) < 40.0  # 29 kg for 0.1 deg on the dear side


def test_a_gap_on_credit_is_bridged(flight: RuleFlight, reached: ClosedRuleFlight) -> None:
    """Debts that fall lead to an orbit; they are no orbits themselves."""
    stub = owing(flight, reached, (200.0, 50.0, 0.0, 0.0, 70.0))
    row = MapRows(flight=stub, across=COLUMNS)(60.0)
    assert np.isfinite(row.used).tolist() == [False, False, True, True, False]
    assert row.reasons[1] == "50 kg of propellant are missing"


def test_a_walk_ends_where_debts_grow(flight: RuleFlight, reached: ClosedRuleFlight) -> None:
    stub = owing(flight, reached, (0.0, 10.0, 30.0, 90.0, 270.0))
    row = MapRows(flight=stub, across=COLUMNS)(60.0)
    assert [column for column, _ in stub.asked] == [0, 1, 2]
    assert np.isfinite(row.used).tolist() == [True, False, False, False, False]
    for why in row.reasons[3:]:
        assert why == (
            "not flown: at kick angle 17.19 deg 30 kg of propellant are missing already, "
            "and ever more beyond"
        )


def test_a_walk_ends_where_flights_fall(flight: RuleFlight, reached: ClosedRuleFlight) -> None:
    """Beyond flights into the orbit what follows two that fall is flatter still."""
    stub = owing(flight, reached, (0.0, None, None, None, None))
    row = MapRows(flight=stub, across=COLUMNS)(60.0)
    assert {column for column, _ in stub.asked} == {0, 1, 2}
    assert row.reasons[-1] == (
        "not flown: at kick angle 17.19 deg it fell already, and what is flatter does so as well"
    )


def test_a_row_is_walked_backwards_too(flight: RuleFlight, reached: ClosedRuleFlight) -> None:
    """A cell that fails from the side of the steep ones is led from the side of the flat ones."""
    stub = owing(flight, reached, (None, None, 0.0, 0.0, None))
    MapRows(flight=stub, across=COLUMNS)(60.0)
    assert (1, True) in stub.asked
    assert (0, True) not in stub.asked  # its neighbour never flew


def test_a_failed_neighbour_does_not_doom_a_cell(
    flight: RuleFlight, reached: ClosedRuleFlight
) -> None:
    """A cell to which its neighbour misleads is tried on its own."""
    stub = owing(flight, reached, (0.0, None, 0.0, 0.0, 0.0))
    MapRows(flight=stub, across=COLUMNS)(60.0)
    assert [tried for tried in stub.asked if tried[0] == 1] == [(1, True), (1, False), (1, True)]
