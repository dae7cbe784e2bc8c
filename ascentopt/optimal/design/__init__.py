"""A vehicle's own numbers as unknowns of the program that is solved for its flight.

Payload, propellant loads and thrusts of parts are free numbers d of the problem, between bounds,
and dry masses follow from them by a law. What the plain problem takes from the vehicle is a number:
of those that change with d, each is written as what it is at d, which is linear in them all,

    masses     at lift-off, after a joint, what is dropped, what a stage is empty at
    forces     T, F and E of what burns, as a share of themselves; when a solid motor was lit, in kg
    burns      F (t_b - t_a) <= or = what a tank holds, kg: linear but for this product

(`linear_numbers.py` takes slopes off the vehicle with one of its numbers changed, and holds them
against all of them changed at once; `writer.py` and `burns.py` put them into the problem, slopes
and constants being parameters of it, so that one program serves all vehicles.) A burn whose length
does not say what it takes (throttle, tanks that are shared) has its mass at the end held above that
of the empty stage. Beside these stands that thrust on the pad exceeds the weight.

The objective is linear in d and in the mass at the last cut-off that is free.

**What is singular.** A load that nobody burns costs speed everywhere, so that it goes to its bound;
where two numbers do the same to a flight, such as the payload and the dry mass of the last stage,
only their sum is known: of such a pair make one free. Payload that something else than the tank
holds (the thrust on the pad) leaves the flight undetermined, but for a small price on the
propellant left (`LEFT_OVER`).
"""
