"""A rule of thumb of one's own as a plain Python function of the flight state.

The same lean as in ``own_rule.py``; any code may stand in the function. It is flown slower, with
the same result. Run it with a directory for its file as the argument; by default it goes to
``out``. Preliminary analysis only: real launches are for licensed practice and range safety to
decide.
"""

from __future__ import annotations

import sys
from math import pi
from pathlib import Path

import ascentopt as ao
from ascentopt.units import km

LEAN = ao.CallableRule(
    name="power lean as a function",
    open=(
        ao.Open(name="power", unit="", low=0.2, high=1.5),
        ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
    ),
    function=lambda state, numbers: state.leaned(
        0.5 * pi * min(state.altitude / numbers[1], 1.0) ** numbers[0]
    ),
)


def main(directory: Path) -> None:
    """Tune it on a small planet, save it, load it both ways, check the numbers."""
    directory.mkdir(parents=True, exist_ok=True)
    scenario = ao.scenarios()["marble-thick-air"]
    rules = ao.Catalogue(rules=(LEAN,), insertions=(ao.Circularise(),))
    found = ao.compare(scenario.vehicle, scenario.mission, catalogue=rules)
    print(found)
    found.save(directory / "own_function.json")

    (best,) = ao.Comparison.load(directory / "own_function.json", rules=[LEAN]).outcomes
    assert best.law is not None
    flown = ao.fly(scenario.vehicle, scenario.mission, best.law)
    assert flown.verdict is not None
    assert flown.verdict.as_asked, flown.verdict
    (data,) = ao.Comparison.load(directory / "own_function.json").outcomes
    assert data.law is not None
    refusal = ""
    try:
        ao.fly(scenario.vehicle, scenario.mission, data.law)
    except ao.InputError as refused:  # numbers and flights are there; the function must be given
        refusal = str(refused)
    assert "rules=[rule]" in refusal, refusal

    # Found by this program on 2026-11-30, as by own_rule.py; nothing published.
    assert best.penalty is not None
    assert abs(best.penalty - 9.4) < 2.0, best.penalty
    power, height = (one.value for one in best.parameters)
    assert abs(power - 0.590) < 0.03, power
    assert abs(height - 23.1 * km) < 1.5 * km, height


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
