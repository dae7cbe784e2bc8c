# %% [markdown]
# # 10. A map of what a rule costs
#
# How sharp is the valley in which a rule of thumb lies? `cost_map` flies a rule over a grid of its
# two numbers. For a kick they are the speed at which the vehicle is tipped over, and the angle.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from pathlib import Path

import numpy as np

import ascentopt as ao
from ascentopt.units import deg

out = Path("out")
out.mkdir(exist_ok=True)

# %%
scenario = ao.scenarios()["earth-small"]
ascent = ao.optimize(scenario.vehicle, scenario.mission)

# %% [markdown]
# ## The map
#
# Cells without an orbit stay empty and say why in `reasons`. Large maps are saved from `progress`
# row by row and filled up later with `ao.continue_map`; an `executor` of processes flies rows side
# by side.

# %%
kicks = ao.cost_map(
    ascent,
    ao.KickRule(),
    ao.Circularise(),
    across=list(np.linspace(4.0, 13.0, 28) * deg),
    upward=list(np.linspace(30.0, 110.0, 25)),
)
kicks.save(out / "map.json")
print(kicks)
ao.report.penalty_map_figure(kicks).savefig(out / "ex10_cost_map.png", dpi=90)

# %% [markdown]
# ## The best kick, and what a degree off it costs
#
# The valley is long and flat: kicks from 40 to 70 m/s cost the same within a kilogram or two if
# the angle goes with the speed, and tuning ends somewhere on its floor.

# %%
turn = ao.best_gravity_turn(ascent)
edge = ao.valley(ascent, turn)
print(f"{turn.name}: {turn.penalty:.2f} kg beyond the optimum")
for one in turn.parameters:
    print(f"  {one}")
print(f"a degree less {edge.smaller * deg:.1f} kg, a degree more {edge.larger * deg:.1f} kg")

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
loaded = ao.CostMap.load(out / "map.json")
assert str(loaded) == str(kicks)
assert turn.penalty is not None
least = float(np.nanmin(kicks.penalty))
assert abs(turn.penalty - 1.9) < 0.6, turn.penalty
assert 0.0 < least < turn.penalty + 0.5, (turn.penalty, least)
