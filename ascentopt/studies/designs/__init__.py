"""The vehicles that sizing chooses among: what is free, by which laws, and what is sought."""
