"""The table of kicks over leans agrees with the search for each of them, or says it is not sure."""

from __future__ import annotations

from math import log

import numpy as np
import pytest

from ascentopt.rules.evaluate.rule_flight import RuleFlight
from ascentopt.rules.insertion.ways import Circularise
from ascentopt.rules.laws.angle_at_altitude import AngleRule
from ascentopt.rules.laws.any_altitude import AnyAltitudeRule, TabulatedLean
from ascentopt.rules.laws.kick_for_angle import LeanAfterKick
from ascentopt.rules.laws.kick_table import LeanTable, lean_table
from ascentopt.rules.laws.rule import Pad
from ascentopt.units import deg, km
from tests.studies.wren import MISSION, VEHICLE

ALTITUDE = 9 * km
LEANS = tuple(float(v) * deg for v in np.linspace(15.0, 60.0, 12))


@pytest.fixture(scope="module")
def flight() -> RuleFlight:
    return RuleFlight(
        vehicle=VEHICLE, mission=MISSION, rule=AnyAltitudeRule(), insertion=Circularise()
    )


@pytest.fixture(scope="module")
def pad(flight: RuleFlight) -> Pad:
    return flight._pad(flight._first_heading())


@pytest.fixture(scope="module")
def table(pad: Pad) -> LeanTable:
    return lean_table(ALTITUDE, pad, LEANS)


def test_a_tabulated_kick_leads_through_the_lean(table: LeanTable, pad: Pad) -> None:
    """Flown, each leans as it should to the 1e-4 rad that the search by flights allows."""
    leaning = LeanAfterKick(ALTITUDE, pad)
    kicks = [table.kick(lean) for lean in LEANS]
    known = [(kick, lean) for kick, lean in zip(kicks, LEANS, strict=True) if kick is not None]
    assert len(known) >= 10
    for kick, lean in known:
        assert leaning(log(kick)) == pytest.approx(lean, abs=1e-4)


def test_it_agrees_with_the_search(table: LeanTable, pad: Pad) -> None:
    searched = AngleRule(altitude=ALTITUDE).kick(LEANS[4], pad)
    assert table.kick(LEANS[4]) == pytest.approx(searched, rel=1e-3)


def test_it_is_not_sure_outside_of_what_was_flown(table: LeanTable) -> None:
    assert table.kick(float(table.leans[0]) * 0.5) is None
    assert table.kick(3.1) is None


def test_another_altitude_is_searched_for(table: LeanTable, pad: Pad) -> None:
    """A table of one altitude is silent about another one."""
    rule = TabulatedLean(table=table)
    there, elsewhere = (rule.steps((h, LEANS[4]), pad) for h in (ALTITUDE, 5 * km))
    assert elsewhere == AngleRule(altitude=5 * km).steps((LEANS[4],), pad)
    assert there != elsewhere


def test_along_a_row_flights_are_the_same(flight: RuleFlight) -> None:
    lean = 50.0 * deg
    along = flight.along((12 * km,), LEANS)
    assert isinstance(along.rule, TabulatedLean)
    alone, tabulated = (one.fly((12 * km, lean)) for one in (flight, along))
    assert tabulated.propellant_used == pytest.approx(alone.propellant_used, abs=0.1)
