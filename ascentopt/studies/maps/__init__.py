"""What a rule costs over a grid of its numbers."""
