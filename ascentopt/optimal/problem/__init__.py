"""What is solved: the optimal control problem of a flight, and its parts."""
