"""What a change of the structure gains to first order, by the costates of a flight."""
