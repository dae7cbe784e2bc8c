"""A rule of thumb of one's own in closed form: tuned, compared, saved and loaded.

The lean from the vertical grows as a power of the altitude, until the vehicle is level at a height;
height and power are tuned. Run it with a directory for its file as the argument; by default it goes
to ``out``. ``python -m benchmarks.heuristics --rule examples.own_rule:PowerLean`` flies it over all
scenarios. Preliminary analysis only: real launches are for licensed practice and range safety to
decide.
"""

from __future__ import annotations

import sys
from math import pi
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import km


class PowerLean(ao.Rule):
    """Leans from the vertical by a quarter turn times (altitude / height) to a power."""

    name = "power lean"
    open = (
        ao.Open(name="power", unit="", low=0.2, high=1.5),
        ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
    )

    def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
        """Along the thrust; NumPy's functions act on the expressions."""
        power, height = numbers
        share = np.fmin(view.altitude / height, 1.0)
        return view.leaned(0.5 * pi * share**power)


def main(directory: Path) -> None:
    """Tune it beside the kick on a small planet, save it, load it both ways, check the numbers."""
    directory.mkdir(parents=True, exist_ok=True)
    scenario = ao.scenarios()["marble-thick-air"]
    rules = ao.Catalogue(rules=(PowerLean(), ao.KickRule()), insertions=(ao.Circularise(),))
    found = ao.compare(scenario.vehicle, scenario.mission, catalogue=rules)
    print(found)
    found.save(directory / "own_rule.json")

    data = ao.Comparison.load(directory / "own_rule.json")  # numbers and flights, without the class
    whole = ao.Comparison.load(directory / "own_rule.json", rules=[PowerLean])
    assert str(data) == str(whole) == str(found)
    best = whole.best_rule
    assert best is not None
    assert best.law is not None
    flown = ao.fly(scenario.vehicle, scenario.mission, best.law)
    assert flown.verdict is not None
    assert flown.verdict.as_asked, flown.verdict
    check(found)


def check(found: ao.Comparison) -> None:
    """Fail when an answer has drifted. Found by this program on 2026-11-30; nothing published."""
    best, kick = (one for one in found.outcomes if one.tuned)
    assert (best.rule, kick.rule) == ("power lean", "gravity turn from a kick")
    assert best.penalty is not None
    assert kick.penalty is not None
    assert 0.0 < best.penalty < kick.penalty
    assert abs(best.penalty - 9.4) < 2.0, best.penalty
    power, height = (one.value for one in best.parameters)
    assert abs(power - 0.590) < 0.03, power
    assert abs(height - 23.1 * km) < 1.5 * km, height
    assert not best.broken


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "out"))
