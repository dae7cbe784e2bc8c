# %% [markdown]
# # 8. The way home
#
# Propellant for the way home is kept by the mission: `reserve` says how much, or for which burn.
# The burn against the motion and the way down to the air are then flown by the independent
# simulator.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from pathlib import Path

import numpy as np
from matplotlib.figure import Figure

import ascentopt as ao
from ascentopt.units import deg, km, kN, tonne

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## A small planet, up and down
#
# *Hearth* is invented: 820 km of radius and thin, tall air. *Dunlin* can light its upper stage
# twice more; one restart is for the way home.

# %%
hearth = ao.Body(
    name="Hearth",
    gravitational_parameter=5.1e12,
    radius=820 * km,
    rotation_rate=1.5e-4,
    atmosphere=ao.Atmosphere.exponential(
        surface_density=0.9, scale_height=7.5 * km, ceiling=90 * km
    ),
)
lower = ao.Stage(
    name="lower",
    propellant_mass=13 * tonne,
    dry_mass=2.3 * tonne,
    engine=ao.Engine(vacuum_thrust=290 * kN, vacuum_isp=312.0, sea_level_isp=270.0),
)
upper = ao.Stage(
    name="upper",
    propellant_mass=3.4 * tonne,
    dry_mass=0.75 * tonne,
    engine=ao.Engine(vacuum_thrust=50 * kN, vacuum_isp=342.0),
    restarts=2,
)
dunlin = ao.Vehicle(
    name="Dunlin",
    payload_mass=2.4 * tonne,
    stages=(lower, upper),
    aerodynamics=ao.Aerodynamics(reference_area=1.9, drag_coefficient=0.35),
)
mission = ao.Mission(
    body=hearth,
    site=ao.LaunchSite(name="Sandbar", latitude=0.0, altitude=70.0),
    orbit=ao.CircularOrbit(altitude=110 * km),
    reserve=ao.DeorbitReserve(periapsis_altitude=40 * km),
)

# %% [markdown]
# The margin of this ascent is what is left *beyond* the reserve.

# %%
ascent = ao.optimize(dunlin, mission)
print(ascent)

# %%
home = ao.deorbit(ascent, periapsis_altitude=40 * km)
print(home)

# %% [markdown]
# The reserve alone does it, too: here is the same stage with nothing else in its tank.

# %%
lean = ao.orbiting(ascent)
lean = replace(lean, mass=lean.empty_mass + ascent.reserve)
print(ao.deorbit(lean, periapsis_altitude=40 * km).suffices)

# %% [markdown]
# ## How deep to aim
#
# A deeper periapsis costs more and meets the air more steeply.

# %%
depths = np.linspace(20.0, 85.0, 14)
ways = [ao.deorbit(ascent, periapsis_altitude=depth * km) for depth in depths]

figure = Figure(figsize=(9.0, 3.6), layout="constrained")
left, right = figure.subplots(1, 2)
left.plot(depths, [way.propellant for way in ways], "C0o-")
left.axvline(40.0, color="0.6", linestyle=":")
left.set(xlabel="periapsis aimed at, km", ylabel="propellant of the burn, kg")
right.plot(depths, [way.entry.flight_path_angle / deg for way in ways], "C1s-")
right.axvline(40.0, color="0.6", linestyle=":")
right.set(xlabel="periapsis aimed at, km", ylabel="flight-path angle at 90 km, deg")
figure.suptitle(
    "Dunlin, home from 110 km of Hearth (dotted: what the reserve is for)", fontsize="medium"
)
figure.savefig(out / "ex08_way_home.png", dpi=100)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program; they are no published figures.

# %%
assert not ascent.certificate.beyond(), ascent.certificate
assert home.suffices
assert abs(home.delta_v / home.impulsive_delta_v - 1.0) < 0.01
assert ao.deorbit(lean, periapsis_altitude=40 * km).suffices, "the reserve alone must do"
assert abs(home.entry.altitude - 90 * km) < 1.0
assert home.entry.flight_path_angle < 0.0
assert all(np.diff([way.propellant for way in ways]) < 0.0)
home.save(out / "way_home.json")
assert str(ao.Deorbit.load(out / "way_home.json")) == str(home)
