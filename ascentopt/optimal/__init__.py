"""The ascent that leaves most propellant: what is solved, from where, how, and why to trust it."""
