# %% [markdown]
# # 4. A rule of one's own
#
# A rule of thumb is a few lines: a name, one to five open numbers, and a direction in closed form.
# The numbers are tuned for least propellant within the mission's limits, and the rule stands beside
# the optimum and beside others. `help(ascentopt.rules)` is the whole page on rules.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from math import pi
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import deg, km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## The rule
#
# The lean from the vertical grows as a power of the altitude, until the vehicle is level at a
# height. Height and power are open. What `direction` returns is an expression: NumPy's functions
# act on it, and it is compiled, so that a flight takes a millisecond or two.


# %%
class PowerLean(ao.Rule):
    """Leans from the vertical by a quarter turn times (altitude / height) to a power."""

    name = "power lean"
    open = (
        ao.Open(name="power", unit="", low=0.2, high=1.5),
        ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
    )

    def direction(self, view: ao.HeadedView, numbers: tuple[Any, ...]) -> Any:
        """Along the thrust."""
        power, height = numbers
        share = np.fmin(view.altitude / height, 1.0)
        return view.leaned(0.5 * pi * share**power)


# %% [markdown]
# ## Beside the kick
#
# On a small planet under thick air it costs half of what the best kick does.

# %%
scenario = ao.scenarios()["marble-thick-air"]
rules = ao.Catalogue(rules=(PowerLean(), ao.KickRule()), insertions=(ao.Circularise(),))
found = ao.compare(scenario.vehicle, scenario.mission, catalogue=rules)
print(found)
ao.report.comparison_figure(found).savefig(out / "ex04_own_rule.png", dpi=80)

# %% [markdown]
# ## A habit of one's own for a rule of ours
#
# The rules of the library take the numbers that your house is used to.

# %%
house = ao.Catalogue(rules=(ao.KickRule(habit=(60.0, 14 * deg)),), insertions=(ao.Circularise(),))
print(ao.compare(scenario.vehicle, scenario.mission, ascent=found.ascent, catalogue=house))

# %% [markdown]
# ## Saved and loaded
#
# A file never names code that is imported: without the class, numbers and flights are there; with
# it, the law flies again.

# %%
found.save(out / "own_rule.json")
data = ao.Comparison.load(out / "own_rule.json")
whole = ao.Comparison.load(out / "own_rule.json", rules=[PowerLean])
assert str(data) == str(whole) == str(found)
best = whole.best_rule
assert best is not None and best.law is not None
flown = ao.fly(scenario.vehicle, scenario.mission, best.law)
print(flown.verdict)

# %% [markdown]
# In a clone, `python -m benchmarks.heuristics --rule my_rules:PowerLean` flies a rule from your own
# module `my_rules.py` over all sixteen scenarios, and prints its column beside the published ones.

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; nothing published.

# %%
lean, kick = (one for one in found.outcomes if one.tuned)
assert (lean.rule, kick.rule) == ("power lean", "gravity turn from a kick")
assert lean.penalty is not None and kick.penalty is not None
assert 0.0 < lean.penalty < kick.penalty
assert abs(lean.penalty - 9.4) < 2.0, lean.penalty
power, height = (one.value for one in lean.parameters)
assert abs(power - 0.590) < 0.03, power
assert abs(height - 23.1 * km) < 1.5 * km, height
assert not lean.broken
assert flown.verdict is not None and flown.verdict.as_asked, flown.verdict
