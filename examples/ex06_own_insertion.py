# %% [markdown]
# # 6. A way into the orbit of one's own
#
# How a rule ends in the orbit is a choice of its own, an `Insertion`. This one is flown as a person
# would: cut off, coast, then hold one pitch to the end, with half of the last burn before the
# apoapsis. Apoapsis at cut-off, pitch and length of the burn are found for each flight, so that it
# ends level in the orbit. `help(ascentopt.rules)` tells each method.
#
# Preliminary analysis only: a real launch is for licensed practice and range safety to decide.

# %%
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np

import ascentopt as ao

out = Path("out")
out.mkdir(exist_ok=True)

# %% [markdown]
# ## The way
#
# `plan` says what burns and when it coasts, `law` makes steering of the rule's own steps and of the
# three unknowns, `guess` begins the search for them, and `sizes` are changes that matter about
# equally.


# %%
@dataclass(frozen=True)
class HeldPitch(ao.Insertion):
    """The unknowns: apoapsis at cut-off (m), tangent of the pitch, seconds of the last burn."""

    name = "one pitch around the apoapsis"

    def lacks(self, vehicle: ao.Vehicle, mission: ao.Mission) -> str:
        """A restart."""
        last = vehicle.stages[-1]
        return "" if last.restarts else f"stage {last.name!r} cannot be lit again"

    def plan(self, vehicle: ao.Vehicle, fairing_arc: str | None) -> ao.FlightPlan:
        """The last stage burns, coasts, burns."""
        last = len(vehicle.stages) - 1
        return ao.FlightPlan(inserting_stage=last, restarts=1, fairing_arc=fairing_arc)

    def law(
        self, plan: ao.FlightPlan, sequence: Any, steps: tuple[ao.Phase, ...], unknowns: Any
    ) -> ao.Programme:
        """Cut-off by apoapsis, coast, one pitch by the clock."""
        apoapsis, tangent, seconds = unknowns
        cut, coast, last = sequence.arcs[-3:]
        return ao.Programme(
            plan=plan,
            steps=steps,
            by_arc=((last.name, ao.LinearTangent(start=tangent, rate=0.0)),),
            endings=(
                (cut.name, ao.AtApoapsisRadius(apoapsis)),
                (coast.name, ao.AtNextApoapsis(0.5 * seconds)),
                (last.name, ao.AfterDuration(max(seconds, 0.0))),
            ),
        )

    def guess(self, flight: Any, mark: Any, arrival: ao.Arrival) -> tuple[float, ...]:
        """The impulse at the apoapsis, spread over a level burn."""
        cut = flight.fly_arc(mark)
        across = np.linalg.norm(np.cross(cut.state[:3], cut.state[3:6])) / arrival.radius
        seconds = flight.sequence.arcs[-1].seconds_to_gain(cut.mass, arrival.speed - across)
        return arrival.radius, 0.0, seconds

    def sizes(self, radius: float, speed: float) -> tuple[float, ...]:
        """A thousandth of the radius, six degrees, a second."""
        return 1e-3 * radius, 0.1, 1.0


# %% [markdown]
# ## Beside ours
#
# One pitch that is held costs next to nothing beside a thrust that is kept level.

# %%
scenario = ao.scenarios()["marble-thick-air"]
ways = ao.Catalogue(rules=(ao.KickRule(),), insertions=(HeldPitch(), ao.Circularise()))
found = ao.compare(scenario.vehicle, scenario.mission, catalogue=ways)
print(found)
ao.report.losses_figure(found).savefig(out / "ex06_own_insertion.png", dpi=85)

# %% [markdown]
# The saved law is put together from formulas of the library, and flies without the class.

# %%
found.save(out / "own_insertion.json")
loaded = ao.Comparison.load(out / "own_insertion.json")
assert str(loaded) == str(found)
held, level = (
    next(one for one in loaded.outcomes if one.tuned and one.insertion == name)
    for name in (HeldPitch.name, ao.Circularise().name)
)
assert held.law is not None
flown = ao.fly(scenario.vehicle, scenario.mission, held.law)
print(flown.verdict)

# %% [markdown]
# ## The numbers that this page guards
#
# Found by this program on 2026-11-30; nothing published.

# %%
assert flown.verdict is not None and flown.verdict.as_asked, flown.verdict
assert held.penalty is not None and level.penalty is not None
assert abs(held.penalty - level.penalty) < 5.0, (held.penalty, level.penalty)
assert not held.broken
assert all(not one.fixed and not one.at_bound for one in held.parameters)
