"""Flights as they are flown: with deviations, by the table through the air, guided into the orbit.

`DispersedFlight.of(ascent)` prepares an optimum once; `fly(deviations)` flies any number of draws
side by side and returns their `Outcomes`. A draw's outcome does not depend on what is flown beside
it, so draws may be flown in pieces, between which whoever asks may show progress or stop.
"""
