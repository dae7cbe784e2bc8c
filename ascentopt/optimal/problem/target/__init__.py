"""Where a flight shall end: plane, apsides, the point to aim at, the terminal conditions."""
