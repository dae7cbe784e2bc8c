# %% [markdown]
# # 14. Descriptions in files
#
# A vehicle and a mission can live in a text file of their own, in TOML, with numbers as people say
# them. `read` makes a `Scenario` of it, `write` a file of a `Scenario`. The layout is told by
# `help(ascentopt.descriptions)`; `examples/descriptions` has more, with tables beside them.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

import ascentopt as ao
from ascentopt.units import km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## A file
#
# A small planet in full, and a vehicle for it. A number without a unit is in SI units and radians.

# %%
description = """\
name = "redpoll-cairn"

[vehicle]
name = "Redpoll"
payload_mass = "650 kg"
aerodynamics = { reference_area = "1.4 m^2", drag_coefficient = 0.35 }

[[vehicle.stages]]
name = "lower"
propellant_mass = "6.4 t"
dry_mass = "0.9 t"
engine = { vacuum_thrust = "150 kN", vacuum_isp = "308 s", sea_level_isp = "280 s" }

[[vehicle.stages]]
name = "upper"
propellant_mass = "2.1 t"
dry_mass = "350 kg"
restarts = 1
engine = { vacuum_thrust = "32 kN", vacuum_isp = "338 s" }

[mission]
site = { name = "Cairn Flat", latitude = "8 deg", altitude = "350 m" }
orbit = { altitude = "95 km" }
limits = { dynamic_pressure = "30 kPa" }

[mission.body]
name = "Cairn"
gravitational_parameter = "4200 km^3/s^2"
radius = "700 km"
rotation_rate = "1.9e-4 rad/s"
atmosphere = { surface_density = "0.9 kg/m^3", scale_height = "6 km", ceiling = "75 km" }
"""
path = out / "redpoll.toml"
path.write_text(description, encoding="utf-8")

scenario = ao.read(path)
print(scenario.vehicle)
print(scenario.mission)

# %% [markdown]
# The command does the same without a script: `ascentopt solve redpoll.toml`, with exit codes for
# CI and `--json` for programs; `ascentopt --help` names the rest.

# %%
ascent = ao.optimize(scenario.vehicle, scenario.mission)
print(ascent)
ao.report.ascent_figure(ascent).savefig(out / "ex14_description_files.png", dpi=85)

# %% [markdown]
# ## A slip
#
# What cannot be right is refused with the file, the key, the value, the rule and the fix.

# %%
slip = out / "slip.toml"
slip.write_text(description.replace('"308 s"', '"308 kg"'), encoding="utf-8")
refusal = ""
try:
    ao.read(slip)
except ao.InputError as refused:
    refusal = str(refused)
print(refusal)

# %% [markdown]
# ## The way back
#
# What is written is read again to the last bit: here the same launch to a higher orbit.

# %%
higher = replace(
    scenario,
    name="redpoll-cairn-150",
    mission=replace(scenario.mission, orbit=ao.CircularOrbit(altitude=150 * km)),
)
ao.write(out / "higher.toml", higher)
print((out / "higher.toml").read_text(encoding="utf-8"))

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert ao.read(out / "higher.toml") == higher
assert "engine.vacuum_isp" in refusal and "308 kg" in refusal, refusal
assert not ascent.certificate.beyond(), ascent.certificate
