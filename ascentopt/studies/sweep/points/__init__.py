"""The points of a sweep: what is varied, and which of them are neighbours."""
