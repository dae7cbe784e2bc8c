"""Flights on days that differ: what scatters, what comes of it, and the propellant it takes."""
