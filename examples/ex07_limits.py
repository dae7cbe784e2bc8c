# %% [markdown]
# # 7. What limits cost
#
# Limits on loads are part of the problem, not a check afterwards. Here the limit on dynamic
# pressure is drawn tighter and tighter, until no flight keeps it; the refusal says what to change,
# and one change is made.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

import ascentopt as ao
from ascentopt.units import deg, kN, kPa

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## Tighter and tighter
#
# *Turnstone* of the first example cannot throttle its first stage: it keeps the pressure down by
# flying higher, and by turning into the wind. Beside each answer stands its partial, what one kPa
# more would save. (q alpha is limited as well: to 150 kPa deg, unless a mission says otherwise.)

# %%
scenario = ao.scenarios()["earth-weak-upper"]


def within(pressure: float | None) -> ao.Mission:
    """The mission with a limit on dynamic pressure, Pa."""
    return replace(scenario.mission, limits=ao.FlightLimits(dynamic_pressure=pressure))


free = ao.optimize(scenario.vehicle, within(None))
pressures = (44.0, 40.0, 36.0, 33.0)
found = {q: ao.optimize(scenario.vehicle, within(q * kPa)) for q in pressures}
slopes = {q: ascent.partials["limit on dynamic pressure"].propellant for q, ascent in found.items()}
beyond = {q: ascent.propellant_used - free.propellant_used for q, ascent in found.items()}
for q in pressures:
    print(f"{q:4.0f} kPa: {beyond[q]:7.2f} kg beyond no limit, {slopes[q]:7.2f} kg per kPa")

# %% [markdown]
# The straight pieces are the partials: slopes at the optimum, known without solving again.

# %%
figure = Figure(figsize=(9.0, 3.8), layout="constrained")
costs, histories = figure.subplots(1, 2)
for q in pressures:
    costs.plot([q - 0.9, q + 0.9], [beyond[q] - 0.9 * slopes[q], beyond[q] + 0.9 * slopes[q]], "C1")
costs.plot(pressures, list(beyond.values()), "C0o")
costs.set(xlabel="limit on dynamic pressure, kPa", ylabel="propellant beyond no limit, kg")
costs.set_title("cost, and its slope by the costates", fontsize="medium")
for (q, ascent), dash in zip(found.items(), ("-", "--", "-.", ":"), strict=True):
    times = np.linspace(0.0, 160.0, 321)
    readings = [ascent.trajectory.at(float(time)) for time in times]
    loads = [reading.dynamic_pressure / kPa for reading in readings]
    histories.plot(times, loads, dash, label=f"{q:.0f} kPa")
histories.set(xlabel="time since lift-off, s", ylabel="dynamic pressure, kPa", xlim=(0.0, 160.0))
histories.legend(title="limit", frameon=False)
figure.savefig(out / "ex07_limits.png", dpi=100)

# %% [markdown]
# ## Too tight
#
# Below 28 kPa no flight is found. A refusal is an answer: what comes nearest, by how much it breaks
# which limit, and what would help.

# %%
refusal: ao.InfeasibleAscent | None = None
try:
    ao.optimize(scenario.vehicle, within(24 * kPa))
except ao.InfeasibleAscent as refused:
    refusal = refused
print(refusal)

# %% [markdown]
# So let the first stage throttle to six tenths:

# %%
first, second = scenario.vehicle.stages
engine = ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0, min_throttle=0.6)
throttled = replace(scenario.vehicle, stages=(replace(first, engine=engine), second))
helped = ao.optimize(throttled, within(24 * kPa))
print(helped)

# %% [markdown]
# ## Other limits
#
# Angle of attack, axial acceleration, pitch rate and the dynamic pressure at staging go the same
# way. `FlightLimits.none()` switches all of them off, q alpha too.

# %%
print(ao.FlightLimits(angle_of_attack=8 * deg, axial_acceleration=5 * 9.81))

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert list(beyond.values()) == sorted(beyond.values())
assert abs(beyond[40.0] - 12.1) < 1.0, beyond
mean = (beyond[44.0] - beyond[40.0]) / 4.0
assert slopes[40.0] < mean < slopes[44.0] < 0.0, (slopes, mean)
for q, ascent in found.items():
    assert not ascent.certificate.beyond(), (q, ascent.certificate)
assert refusal is not None and refusal.least_violation is not None
assert not helped.certificate.beyond(), helped.certificate
