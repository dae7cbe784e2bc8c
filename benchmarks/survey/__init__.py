"""Random rockets on random missions: what the optimiser makes of them, case by case."""
