"""The numbers of a rule that cost least propellant."""
