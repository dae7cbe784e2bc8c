# %% [markdown]
# # 16. A sweep over two numbers
#
# `sweep` solves a vehicle over a grid: which payload to which orbit, and with what left? One point
# is solved from nothing, the others from their neighbours' ascents, which takes a fraction of the
# time. Where neighbours fly other structures each is tried at the other, so that no answer hangs on
# where it came from.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from pathlib import Path

import ascentopt as ao
from ascentopt.units import km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## Payload by altitude
#
# Names are the places of numbers below vehicle and mission: `"payload_mass"`, `"orbit.altitude"`, a
# stage by its name, `"first.thrust"`. Values are in SI units. All of them are combined.

# %%
scenario = ao.scenarios()["mars-two-stages"]
payload = scenario.vehicle.payload_mass
over = {
    "payload_mass": [share * payload for share in (1.0, 2.0, 3.0, 4.0, 5.0, 6.0)],
    "orbit.altitude": [altitude * km for altitude in (200.0, 300.0, 450.0, 650.0)],
}

# %% [markdown]
# ## A store, and where it goes on
#
# With a `store` every answer is written as it is found. The time is up here after the first few;
# called again, with the same vehicle, mission and grid, the sweep goes on where it stopped. With
# `executor=ProcessPoolExecutor(...)` points are solved side by side, and with the executor of a
# cluster (`dask.distributed`'s `client.get_executor()`, `mpi4py`'s `MPIPoolExecutor`) on a cluster:
# the table is the same.

# %%
store = out / "sweep"
try:
    ao.sweep(scenario.vehicle, scenario.mission, over, store=store, time_limit=2.0)
except ao.OutOfTime as stop:
    print(stop)
swept = ao.sweep(scenario.vehicle, scenario.mission, over, store=store)
print(swept)

# %% [markdown]
# ## Tables and ascents
#
# Every point is a row. What does not fly is one too, with the speed that is missing and the payload
# that would fly. The ascents are kept, each with its certificate.

# %%
swept.to_csv(out / "sweep.csv")
swept.table_with_partials(["payload"]).to_csv(out / "sweep_with_partials.csv")
print(swept.ascent({"payload_mass": payload, "orbit.altitude": 300.0 * km}).certificate)

# %% [markdown]
# ## Figures
#
# Contours with the region that cannot fly, lines, and a carpet plot.

# %%
ao.report.sweep_contour_figure(swept).savefig(out / "ex16_sweep.png", dpi=90)
ao.report.sweep_lines_figure(swept).savefig(out / "ex16_lines.png", dpi=90)
ao.report.carpet_figure(swept).savefig(out / "ex16_carpet.png", dpi=90)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert swept.missing == ()
assert len(swept.flying) == 16
left = swept.column("propellant_margin").reshape(swept.shape)
assert abs(left[0, 0] - 766.9) < 0.1, left[0, 0]
assert left[0, 1] == swept.ascent(1).propellant_margin
assert (left[:-1] > left[1:])[:3].all()  # what flies leaves less with more payload
short = swept.column("shortfall").reshape(swept.shape)
assert (short[4:] > 0.0).all()
