"""What the scenarios cost is on record.

`pytest tests/baselines --ascent-baseline-update` renews it, with `-m "slow or not slow"` all of it.
"""

from __future__ import annotations

from typing import TYPE_CHECKING

import pytest

import ascentopt as ao

if TYPE_CHECKING:
    from ascentopt.baselines.plugin.ascentopt_pytest import AscentBaseline

# Eight seconds in all; each of the others takes 2 to 16.
QUICK = {
    "earth-small", "mars-two-stages", "mars-one-stage", "moon-brisk",
    "moon-two-stages-slow", "marble-thick-air", "pebble-strong-first", "pebble-relit-first",
}  # fmt: skip

SCENARIOS = [
    pytest.param(scenario, id=name, marks=() if name in QUICK else pytest.mark.slow)
    for name, scenario in ao.scenarios().items()
]


@pytest.mark.parametrize("scenario", SCENARIOS)
def test_it_costs_what_it_did(scenario: ao.Scenario, ascent_baseline: AscentBaseline) -> None:
    ascent = ao.optimize(scenario.vehicle, scenario.mission)
    ascent_baseline.check(scenario.name, ascent)


def test_every_scenario_is_on_record(ascent_baseline: AscentBaseline) -> None:
    assert set(ao.Baseline.read(ascent_baseline.path)) == set(ao.scenarios())
