# %% [markdown]
# # 9. A planet of one's own
#
# Nothing in the library knows the Earth by heart. A body is its gravity, its radius, its spin and,
# where it has any, its air. *Tarn* is invented: less than half of the Earth's gravity, a day of
# seven hours, and air with a wind in it.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import replace
from math import pi, sqrt
from pathlib import Path

import ascentopt as ao
from ascentopt.units import deg, km, kN, tonne

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## The planet

# %%
radius, gravity = 900 * km, 4.2
still = ao.Atmosphere.exponential(surface_density=0.6, scale_height=9 * km, ceiling=100 * km)
blowing = replace(
    still,
    wind=ao.Wind(
        altitude=(0.0, 8 * km, 15 * km, 40 * km),
        eastward=(4.0, 25.0, 45.0, 10.0),
        northward=(0.0, 5.0, 10.0, 0.0),
    ),
)
tarn = ao.Body(
    name="Tarn",
    gravitational_parameter=gravity * radius**2,
    radius=radius,
    rotation_rate=2 * pi / (7 * 3600.0),
    atmosphere=blowing,
    j2=4e-4,
)
print(tarn)

low = sqrt(tarn.gravitational_parameter / (radius + 120 * km))
stationary = (tarn.gravitational_parameter / tarn.rotation_rate**2) ** (1.0 / 3.0) - radius
print(f"a circle at 120 km: {low:.0f} m/s; stationary at {stationary / km:.0f} km")

# %% [markdown]
# ## A small launcher for it
#
# Two small stages do: the speed of an orbit is a quarter of the Earth's.

# %%
wagtail = ao.Vehicle(
    name="Wagtail",
    payload_mass=1.2 * tonne,
    stages=(
        ao.Stage(
            name="lower",
            propellant_mass=4.4 * tonne,
            dry_mass=0.7 * tonne,
            engine=ao.Engine(vacuum_thrust=62 * kN, vacuum_isp=300.0, sea_level_isp=281.0),
        ),
        ao.Stage(
            name="upper",
            propellant_mass=2.6 * tonne,
            dry_mass=0.4 * tonne,
            engine=ao.Engine(vacuum_thrust=20 * kN, vacuum_isp=335.0),
            restarts=2,
        ),
    ),
    aerodynamics=ao.Aerodynamics(reference_area=1.6, drag_coefficient=0.4),
)
pad = ao.LaunchSite(name="Reed Bank", latitude=6 * deg, altitude=200.0)

# %% [markdown]
# ## A low circle, and the stationary orbit
#
# The second mission is over the equator, six degrees below the latitude of the pad. The vehicle
# waits in a low orbit until it crosses the equator, burns towards the far one, and turns its plane
# out there, where that is cheap. Nothing of that was told to it.

# %%
circle = ao.Mission(body=tarn, site=pad, orbit=ao.CircularOrbit(altitude=120 * km))
ascent = ao.optimize(wagtail, circle)
print(ascent)

# %%
far = replace(circle, orbit=ao.CircularOrbit(altitude=stationary, inclination=0.0))
high = ao.optimize(wagtail, far)
print(high)

figure = ao.report.trajectory_figure(high)
figure.savefig(out / "ex09_own_planet.png", dpi=90)
ao.report.flight_card(high).savefig(out / "stationary_card.pdf")

# %% [markdown]
# ## What the wind does
#
# The same launcher in still air:

# %%
calm = replace(circle, body=replace(tarn, atmosphere=still))
becalmed = ao.optimize(wagtail, calm)
print(f"{ascent.propellant_used - becalmed.propellant_used:+.2f} kg with the wind")

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
for one in (ascent, high, becalmed):
    assert not one.certificate.beyond(), one.certificate
assert high.propellant_used > ascent.propellant_used
