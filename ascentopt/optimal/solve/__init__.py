"""How one structure of the flight is solved."""
