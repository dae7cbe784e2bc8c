# %% [markdown]
# # 12. A programme that a person can fly
#
# An optimum is a table of a thousand directions. `simplify` turns it into a pitch programme with a
# few knots, flown into the same orbit within the same limits, and says what that costs.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from pathlib import Path

import ascentopt as ao

out = Path("out")
out.mkdir(exist_ok=True)

# %%
scenario = ao.scenarios()["earth-small"]
ascent = ao.optimize(scenario.vehicle, scenario.mission)

# %% [markdown]
# ## Four knots against the clock

# %%
programme = ao.simplify(ascent, knots=4)
print(programme)

# %% [markdown]
# ## What each knot more buys
#
# Never less than nothing: where a knot more finds nothing better, the programme with fewer stands
# for it.

# %%
curve = ao.simplify_curve(ascent, range(2, 8))
for one in curve:
    print(f"{len(one.knots)} knots: {one.penalty:8.2f} kg")
ao.report.simplify_figure(curve, ascent).savefig(out / "ex12_simple_programme.png", dpi=90)

# %% [markdown]
# ## The same by the altimeter
#
# Where there is a better altimeter than clock:

# %%
by_altitude = ao.simplify(ascent, knots=5, against=ao.Against.ALTITUDE)
print(by_altitude)

# %% [markdown]
# ## On one page
#
# The card says what to do between the knots.

# %%
flown = ao.report.Flown.simplified(ascent, programme)
ao.report.flight_card(flown).savefig(out / "ex12_programme_card.png", dpi=80)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert programme.flight.verdict is not None and programme.flight.verdict.as_asked
assert 0.0 < programme.penalty < 30.0, programme.penalty
costs = [one.penalty for one in curve]
assert costs == sorted(costs, reverse=True), costs
assert by_altitude.penalty > 0.0
