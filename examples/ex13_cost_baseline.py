# %% [markdown]
# # 13. Costs on record, for CI
#
# Whoever designs vehicles wants to know when an optimal cost has moved, and why. A `Baseline` is
# one text file for many cases: their inputs, the propellant used, the structure, the verdict, the
# partials and the library's version, so that its diff can be read in a review.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

import ascentopt as ao

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## On record

# %%
scenario = ao.scenarios()["marble-thick-air"]
knot, mission = scenario.vehicle, scenario.mission
ascent = ao.optimize(knot, mission)
baseline = ao.Baseline().record("knot to 90 km", ascent)
baseline.write(out / "costs.toml")
print("\n".join((out / "costs.toml").read_text(encoding="utf-8").splitlines()[:24]), "...")

# %% [markdown]
# ## A month later
#
# The same vehicle costs the same, on any computer, within a part in a hundred thousand:

# %%
recorded = ao.Baseline.read(out / "costs.toml")
print(recorded.check("knot to 90 km", ao.optimize(knot, mission)))

# %% [markdown]
# Somebody makes the payload one per cent heavier. The check fails, and says what the partials on
# record predict of the drift. Little is left unexplained: it is the payload, and nothing else.

# %%
heavier = ao.optimize(replace(knot, payload_mass=1.01 * knot.payload_mass), mission)
drifted = recorded.check("knot to 90 km", heavier)
print(drifted)

# %% [markdown]
# That was meant, so the case is recorded anew. A case that agrees stays to the last digit.

# %%
recorded.update("knot to 90 km", heavier).write(out / "costs.toml")

# %% [markdown]
# ## In pytest
#
# The library brings a plugin. This is a whole test; `pytest --ascent-baseline-update` records what
# it costs now in `ascent_baseline.toml` beside the test, and without the option a drift fails it
# with the explanation above:
#
# ```python
# def test_knot_costs_what_it_did(ascent_baseline):
#     ascent_baseline.check("knot to 90 km", ao.optimize(knot, mission))
# ```

# %% [markdown]
# ## How far a prediction reaches
#
# Partials are slopes. For a few per cent they explain nearly everything, and for many the rest
# grows with the square:

# %%
shares = np.array([-0.2, -0.1, -0.05, 0.0, 0.05, 0.1, 0.2, 0.3])
checks = [
    recorded.check(
        "knot to 90 km",
        ao.optimize(replace(knot, payload_mass=(1.0 + share) * knot.payload_mass), mission),
    )
    for share in shares
]
figure = Figure(figsize=(9.0, 3.6), layout="constrained")
left, right = figure.subplots(1, 2)
left.plot(100 * shares, [one.difference for one in checks], "C0o", label="solved")
left.plot(100 * shares, [one.predicted for one in checks], "C1-", label="predicted on record")
left.set(xlabel="payload changed by, %", ylabel="propellant beyond the record, kg")
left.legend(frameon=False)
right.plot(100 * shares, [one.unexplained for one in checks], "C3s-")
right.axhline(0.0, color="0.7")
right.set(xlabel="payload changed by, %", ylabel="unexplained, kg")
figure.savefig(out / "ex13_cost_baseline.png", dpi=100)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert not drifted
assert drifted.difference > drifted.allowed
assert abs(drifted.unexplained) < 0.02 * drifted.difference, drifted
assert not ascent.certificate.beyond(), ascent.certificate
assert ao.Baseline.read(out / "costs.toml").check("knot to 90 km", heavier)
