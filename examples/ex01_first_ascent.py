# %% [markdown]
# # 1. The first ascent
#
# An invented two-stage launcher, *Turnstone*, is to put 1.1 t into a circle of 300 km from an
# invented pad at 12 degrees south. We say what the vehicle is and what is asked of it, and no more:
# no guess, no tuning. What comes back is the ascent that uses the least propellant.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from pathlib import Path

import ascentopt as ao
from ascentopt.units import deg, km, kN, kPa, tonne

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## The vehicle
#
# Everything is in SI units and radians; the names from `ascentopt.units` are plain factors, so that
# numbers can be written as people say them. The upper stage can be lit a second time, and lights
# three seconds after it is set free.

# %%
first = ao.Stage(
    name="first",
    propellant_mass=62 * tonne,
    dry_mass=4.8 * tonne,
    engine=ao.Engine(vacuum_thrust=1150 * kN, vacuum_isp=311.0, sea_level_isp=282.0),
)
second = ao.Stage(
    name="second",
    propellant_mass=11.5 * tonne,
    dry_mass=0.95 * tonne,
    engine=ao.Engine(vacuum_thrust=95 * kN, vacuum_isp=343.0),
    restarts=1,
    ignition_delay=3.0,
)
drag = ao.DragCurve(
    mach=(0.0, 0.6, 0.9, 1.1, 1.4, 2.0, 3.0, 5.0, 8.0),
    cd=(0.30, 0.30, 0.38, 0.55, 0.52, 0.42, 0.32, 0.25, 0.22),
)
turnstone = ao.Vehicle(
    name="Turnstone",
    payload_mass=1.1 * tonne,
    stages=(first, second),
    fairing=ao.Fairing(mass=320.0),
    aerodynamics=ao.Aerodynamics(reference_area=4.5, drag_coefficient=drag),
)

# %% [markdown]
# ## The mission
#
# The real Earth: it turns, it is oblate, its air is the U.S. Standard Atmosphere of 1976. The
# structure bears a dynamic pressure of 40 kPa.

# %%
mission = ao.Mission(
    body=ao.earth(),
    site=ao.LaunchSite(name="Pelican Point", latitude=-12 * deg, altitude=40.0),
    orbit=ao.CircularOrbit(altitude=300 * km),
    limits=ao.FlightLimits(dynamic_pressure=40 * kPa),
)

# %% [markdown]
# ## The ascent
#
# `optimize` takes a second or two. Printed, an ascent says what happens when, where the delta-v
# went, and by which numbers the answer can be trusted. Here it burns to a low transfer, coasts half
# way round the Earth, and burns two seconds more.

# %%
ascent = ao.optimize(turnstone, mission)
print(ascent)

# %% [markdown]
# What would one kilogram more of payload cost, or one kPa less? The costates know it without
# another solve:

# %%
print(ascent.partials)

# %% [markdown]
# ## What others need
#
# The steering law goes to another simulator as CSV, the flight card to people, and the saved ascent
# is there tomorrow without solving again.

# %%
ascent.steering.to_csv(out / "steering.csv")
ascent.steering.save(out / "steering.json")
ascent.save(out / "ascent.json")
card = ao.report.flight_card(ascent)
card.savefig(out / "ex01_flight_card.png", dpi=80)
card.savefig(out / "flight_card.pdf")
ao.report.ascent_figure(ascent).savefig(out / "ex01_first_ascent.png", dpi=90)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program; they are no published figures. The table of directions that was saved flies
# into the same orbit without the optimiser.

# %%
assert abs(ascent.final_mass / 3597.65 - 1.0) < 1e-4, ascent.final_mass
assert not ascent.certificate.beyond(), ascent.certificate
assert len(ascent.candidates) == 2
assert str(ao.Ascent.load(out / "ascent.json")) == str(ascent)

law = ao.TabulatedSteering.load(out / "steering.json")
again = ao.fly(turnstone, mission, law)
assert abs(again.final_state[6] - ascent.final_mass) < 0.01
assert (out / "flight_card.pdf").read_bytes().startswith(b"%PDF-")
