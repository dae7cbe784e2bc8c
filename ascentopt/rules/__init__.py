"""Rules of thumb: families of steering laws with one to five open numbers, flown to the orbit.

## A rule of one's own

A rule steers from the end of the vertical rise until the insertion begins; its `open` numbers are
chosen for least propellant within the mission's limits. Everything is reached by
`import ascentopt as ao`. `examples/ex04_own_rule.py`, `examples/ex05_own_function.py` and
`examples/ex06_own_insertion.py` are complete.

**In closed form.** Subclass `ao.Rule`: give it a `name`, its `open` numbers, and `direction(view,
numbers)`, which returns an expression of shape (3, 1), or three in a row, inertial, of any length
above zero:

```python
from math import pi

import numpy as np

import ascentopt as ao
from ascentopt.units import km


class PowerLean(ao.Rule):
    name = "power lean"
    open = (
        ao.Open(name="power", unit="", low=0.2, high=1.5),
        ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
    )

    def direction(self, view, numbers):
        power, height = numbers
        share = np.fmin(view.altitude / height, 1.0)
        return view.leaned(0.5 * pi * share**power)
```

`view` (`ao.HeadedView`) has, all SI: `time` and `phase_time` (s), `position`, `velocity`,
`air_velocity` (3, inertial), the unit vectors `up`, `east`, `north` and `ahead` (towards the
heading of the flight), `altitude` (m); `view.leaned(angle)` leans from the vertical by an angle
in rad towards `ahead`. The expression must be finite wherever the vehicle may fly: bound the
arguments of roots and powers. NumPy's functions act on it (`np.sqrt`, `np.fmin`, `np.where`
instead of `if`), and so do CasADi's. It is compiled: as quick as a rule of ours.

**As a function of the flight state.** `ao.CallableRule(name=..., open=..., function=f)`, where
`f(state, numbers)` returns three numbers, inertial. `state` (`ao.HeadedMoment`) has the same, as
numbers, and `mass` (kg), `air_speed` (m/s), `heating` (W/m^2). It is flown some three times
slower, more the more the function does, by the same equations and to the same result.

**In phases.** Define `steps(values, pad)` instead, which returns a tuple of
`ao.Phase(formula=..., until=...)`, the last without an end. Formulas: `ao.Lean`,
`ao.AlongAirVelocity`, or an `ao.Formula` of one's own; endings: `ao.AtAirSpeed`, `ao.AtAltitude`,
`ao.AfterPhaseDuration` and their like. `pad` has the mission and the `heading`, rad from north.

**Numbers.** One to five. `unit` is "rad", "rad/s", "m", "m/s", "s", or empty for a number without
a dimension. A range above zero is sought by logarithms, any other evenly. `usual` is the habit: a
rule whose numbers all have one is flown by habit as well. With `low` equal to `high` a number is
fixed, and told as such; one that tuning leaves at its bound is told, too. Tuning looks the last
one through first: let it be what tips the vehicle over. The least over three to five numbers takes
hundreds of flights; it may be missed by some hundredths of a per cent, and by most of one where
hardly any numbers lead to the orbit: narrow the ranges, or begin elsewhere in them.

**Flying it.** `ao.compare(vehicle, mission, catalogue=ao.Catalogue(rules=(PowerLean(),
ao.KickRule())))` puts it beside the optimum, with each `ao.Insertion` (`ao.Circularise`,
`ao.LinearTangentInsertion`, `ao.HoldApoapsis`, or those that the catalogue names); `ao.cost_map`
takes rules with two numbers. From a clone, `python -m benchmarks.heuristics --rule
package.module:Name` flies it over all of `ao.scenarios()` and prints its column beside those of
the published table.

**Saving.** `Comparison.save` keeps everything. `Comparison.load(path)` gives all data back; a law
of a rule of one's own flies again after `Comparison.load(path, rules=[PowerLean])`, which takes
classes, or rules as they are (a `CallableRule`). Nothing is imported because a file names it; a
law whose class was not given says so when it is flown. Rules with fields are frozen dataclasses.

**Errors.** What is no rule, has bounds reversed, six numbers or no steering, and what returns no
direction on the pad, raises `InputError` before anything is flown; what returns none later raises
it there, with numbers, time and altitude.

```python
pebble = ao.scenarios()["pebble-weak-upper"]
found = ao.compare(
    pebble.vehicle, pebble.mission, catalogue=ao.Catalogue(rules=(PowerLean(),))
)
assert found.best_rule is not None
```

## A way into the orbit of one's own

Subclass `ao.Insertion`. Three unknowns of any kind (how high the apoapsis is at cut-off, when the
burn begins, its pitch, its length) are found for each flight, so that it ends level in the orbit:

```python
from dataclasses import dataclass


@dataclass(frozen=True)
class HeldPitch(ao.Insertion):
    name = "one pitch around the apoapsis"

    def lacks(self, vehicle, mission):
        last = vehicle.stages[-1]
        return "" if last.restarts else f"stage {last.name!r} cannot be lit again"

    def plan(self, vehicle, fairing_arc):
        last = len(vehicle.stages) - 1
        return ao.FlightPlan(inserting_stage=last, restarts=1, fairing_arc=fairing_arc)

    def law(self, plan, sequence, steps, unknowns):
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

    def guess(self, flight, mark, arrival):
        cut = flight.fly_arc(mark)
        across = np.linalg.norm(np.cross(cut.state[:3], cut.state[3:6])) / arrival.radius
        last = flight.sequence.arcs[-1]
        return arrival.radius, 0.0, last.seconds_to_gain(cut.mass, arrival.speed - across)

    def sizes(self, radius, speed):
        return 1e-3 * radius, 0.1, 1.0
```

**The plan.** `plan` says which stages burn, coast and are lit again (`ao.FlightPlan`);
`sequence.arcs` are its arcs in order, each with `name`, `burning`, `stage`, `free_coast`. `lacks`
says what the vehicle lacks for it, or nothing. Pass `fairing_arc` on: plans are tried with each.

**The unknowns.** They act from the arc `begins(sequence)` on, by default the burn before the last
coast, or the last stage's first. `law` makes steering of the rule's `steps` and of them: formulas
by the names of arcs (`ao.Level`, `ao.LinearTangent`, `ao.Lean`), and what ends each arc that does
not know its end. `guess` begins the search: `mark` is the flight where the unknowns begin to act
(`state`, (7,) position, velocity, mass, SI; `mass`), `flight.fly_arc(mark)` flies one arc on as
`law` says, with the orbit's radius and two zeros for unknowns. `sizes` are changes that matter
about equally. They are found by a secant method: the end must change smoothly with them.

**Where there is none.** `guess` raises `ao.TooHigh` or `ao.TooFlat`, which tell tuning the side,
where it knows that no unknowns lead to the orbit. `rooms` returns an `ao.FeasibilityMargin` for
each edge beyond which unknowns cannot be flown, as a burn of less than no length; none by
default.

It is flown as `ao.Catalogue(rules=..., insertions=(HeldPitch(),))` says. A saved comparison holds
the law, not the class: it loads, and flies again, without it.
"""
