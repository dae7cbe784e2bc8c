"""What can be said of a vehicle that does not fly its mission."""
