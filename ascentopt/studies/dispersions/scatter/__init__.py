"""What scatters from flight to flight, and draws of it."""
