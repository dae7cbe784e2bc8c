"""The list of candidates beside an answer."""

from __future__ import annotations

from ascentopt.flight.plan import FlightPlan
from ascentopt.optimal.attempt import Standing
from ascentopt.optimal.result.candidate import Candidate, lines_of


def candidate(plan: FlightPlan, standing: Standing) -> Candidate:
    return Candidate(
        plan=plan,
        standing=standing,
        propellant_used=1234.5,
        at_least=False,
        shortfall=0.0,
        history=(),
    )


def test_how_they_came_out_stands_in_a_column_however_long_a_plan_is_called() -> None:
    plain = FlightPlan(inserting_stage=1, fairing_arc="second")
    early = FlightPlan(inserting_stage=1, fairing_arc="first, with a long name")
    found = [candidate(plain, Standing.BEST), candidate(early, Standing.BEATEN)]
    first, second = lines_of(found)
    assert "fairing dropped in 'first, with a long name'" in second
    assert first.index(" best ") == second.index(" beaten ")
    assert first.index("1234.50 kg") == second.index("1234.50 kg")


def test_one_by_itself_is_called_by_its_burns_and_coasts() -> None:
    alone = candidate(FlightPlan(inserting_stage=1, fairing_arc="second"), Standing.BEST)
    assert " ".join(str(alone).split()) == "direct insertion best 1234.50 kg of propellant"
