"""What was flown: trajectory, events, budget, limits, failures."""
