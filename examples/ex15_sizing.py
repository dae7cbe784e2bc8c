# %% [markdown]
# # 15. A vehicle sized with its flight
#
# `size` takes masses and thrusts for unknowns beside the flight: the lightest vehicle for a
# payload, or the greatest payload within a mass or a cost. What stages weigh empty follows by laws
# of your own. The answer is an ascent like any other, certified and verified; its prices say what
# bounds cost, and that a kilogram buys the same wherever it is spent.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

import ascentopt as ao
from ascentopt.units import kN, tonne

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## A first draft
#
# Phalarope is an invented rocket of two stages that lifts more than 150 kg; here it is to lift 400.

# %%
scenario = ao.scenarios()["earth-small"]
draft = replace(scenario.vehicle, payload_mass=400.0)
mission = scenario.mission

# %% [markdown]
# ## What is free, and what follows
#
# Tanks weigh 6 % of what they hold and engines a kilogram for each kilonewton; the law goes through
# what the draft's stages weigh. The second stage may have half the thrust of the draft, or twice as
# much; the first one's engine is chosen, up to 200 kN.

# %%
laws = [
    ao.StructuralLaw.through(draft, stage.name, per_propellant=0.06, per_thrust=1e-3)
    for stage in draft.stages
]
for law in laws:
    print(law)
free = [
    ao.FreePropellant(stage="first", least=3 * tonne, most=30 * tonne),
    ao.FreePropellant(stage="second", least=0.5 * tonne, most=6 * tonne),
    ao.FreeThrust(stage="first", least=100 * kN, most=200 * kN),
    ao.FreeThrust(stage="second", least=18 * kN, most=72 * kN),
]

# %% [markdown]
# ## The lightest vehicle for the payload
#
# "A unit buys" is payload in kg for a kilogram at lift-off, spent on that number and on all that
# its law adds. The thrust of the first stage stands at its bound: more of it would make the vehicle
# lighter, by what its price says.

# %%
lightest = ao.size(draft, mission, free=free, laws=laws, objective=ao.LeastLiftOffMass())
print(lightest)
print(lightest.ascent.certificate)
figure = ao.report.sizing_figure(lightest)
figure.savefig(out / "ex15_sizing.png", dpi=100)

# %% [markdown]
# ## The greatest payload for a cost
#
# Costs are linear in masses and thrusts, in a unit of your own: dry mass is dear, propellant is
# not.

# %%
cost = ao.LinearCost(
    stages=[
        ao.StageCost(stage="first", per_propellant=1.0, per_dry_mass=150.0),
        ao.StageCost(stage="second", per_propellant=1.0, per_dry_mass=400.0),
    ]
)
budget = ao.CostBudget(cost=cost, most=cost.of(lightest.vehicle))
cheapest = ao.size(
    lightest.vehicle, mission, free=free, laws=laws, objective=ao.GreatestPayload(within=budget)
)
print(cheapest)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
for one in (lightest, cheapest):
    assert one.settled and one.balanced, one
    assert one.ascent.certificate, one.ascent.certificate
thrust = lightest["first: vacuum thrust"]
assert thrust.at_most and thrust.price < 0.0, thrust
exchanges = [one.exchange for one in lightest.numbers if one.is_free]
assert max(exchanges) < 1.01 * min(exchanges), exchanges
assert cheapest.value > lightest.vehicle.payload_mass, cheapest.value
assert cost.of(cheapest.vehicle) <= budget.most * (1.0 + 1e-9)
