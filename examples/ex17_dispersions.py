# %% [markdown]
# # 17. Days that differ, and the reserve they take
#
# An optimum is a flight on a day when everything is as described. `disperse` flies it on many days
# that are not: engines are stronger or weaker, tanks fuller, the air denser, the wind another. Up
# through the air the vehicle flies its table, above it guidance closes the loop into the orbit.
# What the worst of these flights need beyond the nominal one is the reserve.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from pathlib import Path

import ascentopt as ao
from ascentopt.units import deg, km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## What scatters
#
# Each number has a distribution of its own; thrust and specific impulse of one engine go together.
# The wind is drawn anew for every flight: it scatters by so much at each altitude, and winds a few
# kilometres apart have to do with each other. (All of it is common practice, no source.)

# %%
scenario = ao.scenarios()["earth-weak-upper"]
ascent = ao.optimize(scenario.vehicle, scenario.mission)

thrust, impulse = (
    ao.ThrustDispersion("first", ao.Normal(0.01)),
    ao.IspDispersion("first", ao.Normal(0.003)),
)
scatter = [
    thrust,
    impulse,
    ao.ThrustDispersion("second", ao.Normal(0.01)),
    ao.IspDispersion("second", ao.Normal(0.003)),
    ao.DryMassDispersion("first", ao.Uniform(0.01)),
    ao.DryMassDispersion("second", ao.Uniform(0.01)),
    ao.PropellantDispersion("first", ao.TruncatedNormal(0.002)),
    ao.IgnitionDispersion("second", ao.Uniform(0.5)),
    ao.DragDispersion(ao.Normal(0.05)),
    ao.DensityDispersion(ao.Normal(0.03)),
    ao.AlignmentDispersion(ao.Normal(0.05 * deg)),
    ao.RandomWind(
        altitude=[0.0, 12 * km, 30 * km], sigma=[3.0, 12.0, 8.0], correlation_length=3 * km
    ),
]
together = [ao.Correlation(thrust, impulse, 0.5)]

# %% [markdown]
# ## How many flights
#
# To say of 99.73 % of all flights that a reserve is enough, at a confidence of 90 %, takes 852 if
# not one of them may need more, 1440 if one may. Draws hang on the seed and their number alone:
# more flights later (`continue_dispersion`) begin with these.

# %%
count = ao.least_flights(0.9973, 0.9, failures=1)
flights = ao.disperse(ascent, scatter, correlations=together, count=count, seed=17)
print(flights)

# %% [markdown]
# ## The reserve
#
# By the order of the flights alone, whatever they are distributed like; beside it what the partials
# of that one optimum foretell, were all normal. They know of no wind and no delay.

# %%
reserve = flights.reserve(share=0.9973, confidence=0.9)
print(reserve)
ao.report.propellant_left_figure(flights).savefig(out / "ex17_dispersions.png", dpi=90)

# %% [markdown]
# ## What matters
#
# Ranks ask for no straight line; kilograms for a standard deviation stand beside those by the
# partials, which were found without a single dispersed flight.

# %%
important = flights.importance()
print(important)
ao.report.importance_figure(flights).savefig(out / "ex17_importance.png", dpi=80)

# %% [markdown]
# ## Loads
#
# The optimum rides its limits. Where the air is denser and the wind is from elsewhere, a flight by
# the same table goes beyond them: limits of an optimum need room for the days.

# %%
for row in flights.loads(share=0.99, confidence=0.9).rows:
    print(row)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert len(flights) == 1440
assert reserve.failures == 1
assert abs(reserve.mass - 97.9) < 8.0, reserve.mass
assert abs(reserve.by_partials - reserve.mass) < 0.2 * reserve.mass, reserve
for name in ("second: Isp", "first: Isp", "second: dry mass"):
    one = important[name]
    assert abs(one.regression - one.first_order) < 0.15 * abs(one.first_order), one
assert important.explained > 0.9
