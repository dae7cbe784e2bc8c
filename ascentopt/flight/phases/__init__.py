"""The arcs of a flight, from a vehicle, a mission and a plan."""
