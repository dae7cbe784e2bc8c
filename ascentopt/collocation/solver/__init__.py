"""Solving the program: start, IPOPT, the way back, what goes wrong, prices."""
