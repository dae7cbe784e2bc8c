# %% [markdown]
# # 5. A rule as a plain function
#
# Where a closed form is not enough, any Python function of the flight state is a rule. The lean of
# the example before is written once more, now with a look at the dynamic pressure in an `if`: while
# the air is thick, the thrust stays within five degrees of the motion. It is flown some three times
# slower than a closed form, by the same equations.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from math import pi
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import km

out = Path("out")
out.mkdir(exist_ok=True)

# %%
numbers = (
    ao.Open(name="power", unit="", low=0.2, high=1.5),
    ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
)


def lean(state: Any, numbers: tuple[float, ...]) -> Any:
    """The lean alone."""
    power, height = numbers
    return state.leaned(0.5 * pi * min(state.altitude / height, 1.0) ** power)


def careful(state: Any, numbers: tuple[float, ...]) -> Any:
    """The lean, no further than five degrees from the motion while the air is fast and thick."""
    wanted = np.asarray(lean(state, numbers), dtype=float)
    if state.air_speed < 100.0 or state.altitude > 25 * km:
        return wanted
    motion = np.asarray(state.air_velocity, dtype=float) / state.air_speed
    across = wanted - float(wanted @ motion) * motion
    size = float(np.linalg.norm(across))
    most = np.sin(np.radians(5.0))
    return wanted if size <= most else motion * np.cos(np.radians(5.0)) + across * (most / size)


plain = ao.CallableRule(name="power lean as a function", open=numbers, function=lean)
held = ao.CallableRule(name="power lean, five degrees at most", open=numbers, function=careful)

# %%
scenario = ao.scenarios()["marble-thick-air"]
rules = ao.Catalogue(rules=(plain, held), insertions=(ao.Circularise(),))
found = ao.compare(scenario.vehicle, scenario.mission, catalogue=rules)
print(found)
ao.report.comparison_figure(found).savefig(out / "ex05_own_function.png", dpi=80)

# %% [markdown]
# ## Saved and loaded
#
# A function cannot be written into a file. What loads without it has all numbers, and says so when
# it is asked to fly.

# %%
found.save(out / "own_function.json")
again = ao.Comparison.load(out / "own_function.json", rules=[plain, held]).outcomes
assert again[0].law is not None
flown = ao.fly(scenario.vehicle, scenario.mission, again[0].law)
print(flown.verdict)

data = ao.Comparison.load(out / "own_function.json").outcomes[0]
assert data.law is not None
refusal = ""
try:
    ao.fly(scenario.vehicle, scenario.mission, data.law)
except ao.InputError as refused:
    refusal = str(refused)
print(refusal)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; the first as in closed form.

# %%
assert "rules=[rule]" in refusal, refusal
assert flown.verdict is not None and flown.verdict.as_asked, flown.verdict
free, bound = found.outcomes
assert free.penalty is not None and bound.penalty is not None
assert abs(free.penalty - 9.4) < 2.0, free.penalty
power, height = (one.value for one in free.parameters)
assert abs(power - 0.590) < 0.03, power
assert abs(height - 23.1 * km) < 1.5 * km, height
assert free.penalty < bound.penalty + 0.1, bound.penalty
