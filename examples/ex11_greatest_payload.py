# %% [markdown]
# # 11. The greatest payload
#
# `max_payload` finds the heaviest payload that still reaches the orbit with a reserve in the tank,
# by one program in which the payload is unknown beside the flight. Its ascent is certified like
# any, and what holds the payload is named, with what one more of it is worth.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

from matplotlib.figure import Figure

import ascentopt as ao
from ascentopt.units import km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## To one orbit
#
# The payload of the description does not matter.

# %%
scenario = ao.scenarios()["marble-thick-air"]
most = ao.max_payload(scenario.vehicle, scenario.mission, reserve=100.0)
print(most)
print(most.ascent)

# %% [markdown]
# ## To higher and higher ones
#
# Beside each payload its slope: what a kilometre costs, by the partials of that one ascent.

# %%
altitudes = (90.0, 150.0, 250.0, 400.0)
payloads, slopes = [], []
for altitude in altitudes:
    mission = replace(scenario.mission, orbit=ao.CircularOrbit(altitude=altitude * km))
    found = ao.max_payload(scenario.vehicle, mission, reserve=100.0)
    left = found.ascent.partials
    payloads.append(found.payload)
    slopes.append(-left["orbit altitude"].margin / left["payload"].margin)
    print(f"{altitude:5.0f} km: {payloads[-1]:8.1f} kg, {slopes[-1]:6.2f} kg per km")

figure = Figure(figsize=(6.4, 4.0), layout="constrained")
axes = figure.subplots()
axes.plot(altitudes, payloads, "C0o", label="greatest payload")
for altitude, payload, slope in zip(altitudes, payloads, slopes, strict=True):
    ends = [payload - 25.0 * slope, payload + 25.0 * slope]
    axes.plot([altitude - 25.0, altitude + 25.0], ends, "C1-")
axes.set(xlabel="altitude of the circle, km", ylabel="payload, kg")
axes.set_title("Knot from Marble, 100 kg kept; slopes by partials", fontsize="medium")
figure.savefig(out / "ex11_greatest_payload.png", dpi=100)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert not most.ascent.certificate.beyond(), most.ascent.certificate
assert abs(most.surplus) < 1.0, most.surplus
assert most.held_by.kind is ao.HeldBy.TANK, most.held_by
assert abs(most.payload - payloads[0]) < 1.0, (most.payload, payloads[0])
assert payloads == sorted(payloads, reverse=True)
mean = (payloads[1] - payloads[0]) / (altitudes[1] - altitudes[0])
assert slopes[0] < mean < slopes[1] or slopes[1] < mean < slopes[0], (slopes, mean)
