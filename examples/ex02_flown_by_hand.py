# %% [markdown]
# # 2. Laws that are flown by hand
#
# `fly` takes a vehicle, a mission and a steering law, and no optimiser: an independent integrator
# says where the flight ends. Three laws are flown here: a table of pitch, a gravity turn, and a
# function of one's own.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import dataclass
from math import cos, pi, sin, sqrt
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao
from ascentopt.units import deg, km

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# *Knot* stands on *Marble*, an invented small planet of 500 km radius under thick air, where 90 km
# are an orbit. `ao.scenarios()` has sixteen such pairs of a vehicle and a mission.

# %%
scenario = ao.scenarios()["marble-thick-air"]
knot, mission = scenario.vehicle, scenario.mission
print(knot, mission, sep="\n")

# %% [markdown]
# ## When to burn
#
# Which stages burn and when they coast is a `FlightPlan`: here the last stage burns, coasts and is
# lit once more. What ends each arc is an `Ending`. The upper stage is cut off when the apoapsis
# reaches the orbit, and lit again a few seconds before it gets there. When to cut off for good is
# an ending of our own: as soon as the speed is that of a circle. An ending returns a number that
# rises through zero when it is due.


# %%
@dataclass(frozen=True)
class AtCircularSpeed(ao.Ending):
    """When the vehicle is as fast as a circle at its radius."""

    def value(self, now: ao.Moment) -> float:
        """Metres per second above it."""
        position, velocity = now.state[:3], now.state[3:6]
        circle = sqrt(now.body.gravitational_parameter / float(np.linalg.norm(position)))
        return float(np.linalg.norm(velocity)) - circle


plan = ao.FlightPlan(inserting_stage=1, restarts=1)
orbit = mission.body.radius + 90 * km


def endings(before: float, above: float = 0.0) -> tuple[tuple[str, ao.Ending], ...]:
    """Cut-off, ignition so many seconds before the apoapsis, cut-off in the circle."""
    return (
        ("upper", ao.AtApoapsisRadius(orbit + above)),
        ("coast 1", ao.AtNextApoapsis(before)),
        ("upper burn 2", AtCircularSpeed()),
    )


# %% [markdown]
# ## A table of pitch against the altimeter

# %%
table = ao.PitchTable(
    plan=plan,
    against=ao.Against.ALTITUDE,
    rows=(
        (0.1 * km, 90 * deg),
        (5 * km, 50 * deg),
        (15 * km, 30 * deg),
        (30 * km, 12 * deg),
        (60 * km, 0.0),
    ),
    endings=endings(15.0),
)
by_table = ao.fly(knot, mission, table)
print(by_table.verdict)

# %% [markdown]
# ## A gravity turn
#
# Straight up to 60 m/s, then tipped over, and from there on along the motion through the air. How
# far it is tipped decides everything: with 6 degrees it rises far too steeply.

# %%
turns = {
    angle: ao.fly(
        knot,
        mission,
        ao.GravityTurn(
            plan=plan,
            kick=ao.Kick(at=ao.AtAirSpeed(60.0), angle=angle * deg),
            endings=endings(10.0),
        ),
    )
    for angle in (6, 12, 15)
}
for angle, flight in turns.items():
    print(f"{angle} degrees at 60 m/s: {flight.verdict}\n")

# %% [markdown]
# ## A function of one's own
#
# Any function from the state of the flight to a direction steers. This one leans from the vertical
# by a power of the altitude, due east, and is level from 23 km on. It is cut off so low that drag
# takes more than a kilometre from the apoapsis while it coasts: we aim that much higher.


# %%
def lean(now: Any) -> Any:
    """Up, east and north components of the thrust."""
    angle = 0.5 * pi * min(now.altitude / (23.1 * km), 1.0) ** 0.59
    return now.inertial(cos(angle), sin(angle), 0.0)


own = ao.CallableSteering(plan=plan, direction=lean, endings=endings(4.0, above=1.1 * km))
by_function = ao.fly(knot, mission, own)
print(by_function.verdict)

# %% [markdown]
# ## How good are they?
#
# Figures and cards take flights by hand as they take optima, and the optimum says what is possible.

# %%
flown = ao.report.Flown.by_hand(knot, mission, own, by_function)
ao.report.ascent_figure(flown).savefig(out / "ex02_flown_by_hand.png", dpi=90)
ao.report.flight_card(flown).savefig(out / "card_by_hand.pdf")

ascent = ao.optimize(knot, mission)
for name, flight in {
    "table of pitch": by_table,
    "gravity turn, 15 deg": turns[15],
    "own function": by_function,
}.items():
    beyond = ascent.final_mass - flight.final_state[6]
    print(f"{name:24}{beyond:8.1f} kg more than the optimum")

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; they are no published figures.

# %%
assert by_table.verdict is not None and by_table.verdict.in_orbit, by_table.verdict
assert by_function.verdict is not None and by_function.verdict.as_asked, by_function.verdict
assert turns[6].verdict is not None and not turns[6].verdict.in_orbit, turns[6].verdict
assert abs(ascent.propellant_used - 9438.2) < 1.0, ascent.propellant_used
