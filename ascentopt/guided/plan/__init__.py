"""The plan to be flown: its arcs, its table, and the numbers of its parts for every draw."""
