"""Rules of thumb: families of steering laws with one to five open numbers, flown to the orbit.

A rule of one's own
===================

A rule steers from the end of the vertical rise until the insertion begins; its `open` numbers are
chosen for least propellant within the mission's limits. Everything is reached by
`import ascentopt as ao`. `examples/own_rule.py` and `examples/own_function.py` are complete.

In closed form
    Subclass `ao.Rule`: give it a `name`, its `open` numbers, and `direction(view, numbers)`, which
    returns a CasADi expression of shape (3, 1), inertial, of any length above zero:

        class PowerLean(ao.Rule):
            name = "power lean"
            open = (
                ao.Open(name="power", unit="", low=0.2, high=1.5),
                ao.Open(name="height where level", unit="m", low=10 * km, high=600 * km),
            )

            def direction(self, view, numbers):
                power, height = numbers
                share = ca.fmin(view.altitude / height, 1.0)
                return view.leaned(0.5 * pi * share**power)

    `view` (`ao.HeadedView`) has, all SI: `time` and `phase_time` (s), `position`, `velocity`,
    `air_velocity` (3, inertial), the unit vectors `up`, `east`, `north` and `ahead` (towards the
    heading of the flight), `altitude` (m); `view.leaned(angle)` leans from the vertical by an angle
    in rad towards `ahead`. The expression must be finite wherever the vehicle may fly: bound the
    arguments of roots and powers. It is compiled: as quick as a rule of ours.

As a function of the flight state
    `ao.CallableRule(name=..., open=..., function=f)`, where `f(state, numbers)` returns three
    numbers, inertial. `state` (`ao.HeadedMoment`) has the same, as numbers, and `mass` (kg),
    `air_speed` (m/s), `heating` (W/m^2). It is flown some three times slower, more the more the
    function does, by the same equations and to the same result.

In phases
    Define `steps(values, pad)` instead, which returns a tuple of
    `ao.Phase(formula=..., until=...)`, the last without an end. Formulas: `ao.Lean`,
    `ao.AlongAirVelocity`, or an `ao.Formula` of one's own; endings: `ao.AtAirSpeed`,
    `ao.AtAltitude`, `ao.AfterPhaseDuration` and their like. `pad` has the mission and the
    `heading`, rad from north.

Numbers
    One to five. `unit` is "rad", "rad/s", "m", "m/s", "s", or empty for a number without a
    dimension. A range above zero is sought by logarithms, any other evenly. `usual` is the habit:
    a rule whose numbers all have one is flown by habit as well. With `low` equal to `high` a number
    is fixed, and told as such; one that tuning leaves at its bound is told, too. Tuning looks the
    last one through first: let it be what tips the vehicle over. The least over three to five
    numbers may be missed by some hundredths of a per cent, and takes hundreds of flights.

Flying it
    `ao.compare(vehicle, mission, catalogue=ao.Catalogue(rules=(PowerLean(), ao.KickRule())))` puts
    it beside the optimum, with each `ao.Insertion` (`ao.Circularise`, `ao.LinearTangentInsertion`,
    `ao.HoldApoapsis`, or those that the catalogue names); `ao.cost_map` takes rules with two
    numbers. From a clone, `python -m benchmarks.heuristics --rule package.module:Name` flies it
    over all of `ao.scenarios()` and prints its column beside those of the published table.

Saving
    `Comparison.save` keeps everything. `Comparison.load(path)` gives all data back; a law of a rule
    of one's own flies again after `Comparison.load(path, rules=[PowerLean])`, which takes classes,
    or rules as they are (a `CallableRule`). Nothing is imported because a file names it; a law
    whose class was not given says so when it is flown. Rules with fields are frozen dataclasses.

Errors
    What is no rule, has bounds reversed, six numbers or no steering, and what returns no direction
    on the pad, raises `InputError` before anything is flown; what returns none later raises it
    there, with numbers, time and altitude.

A way into the orbit of one's own is an `ao.Insertion`: its unknowns (three), their guess, the law
that they make and what is left until they cannot be flown; its docstrings say the contract, and
`rules/insertion/coast_and_burn.py` is one. It takes knowledge of `ascentopt.flight`.
"""
